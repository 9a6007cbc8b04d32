"""Style sheets, scripts and the icon: read once, served under an address that changes with them.

The scripts that draw charts in the browser come out of the installed vl-convert, which draws them
here. They take seconds to put together, so that is done at the first asking or before it.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from threading import Lock

from fastapi import APIRouter
from starlette.responses import PlainTextResponse, Response

from clew.papers import run_card_css

_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}
DRAWS = "draws.js"
"""Name under which the scripts that draw charts are served."""
_ONE_MAKES_IT = Lock()
_A_YEAR = "public, max-age=31536000, immutable"


@dataclass(frozen=True, slots=True)
class Assets:
    """The static files of the workbench.

    Attributes
    ----------
    digest : str
        Short hash of all of them together; part of their address, so that scripts may import one
        another by relative address and a browser may keep them for a year.
    contents : dict of str to bytes
        Content by file name.
    """

    digest: str
    contents: dict[str, bytes]

    def url(self, name: str) -> str:
        """Address of a file; a name that is not there is a fault of ours and raises `KeyError`."""
        if name == DRAWS:
            return f"/static/{draws_digest()}/{name}"
        if name not in self.contents:
            raise KeyError(name)
        return f"/static/{self.digest}/{name}"


@cache
def read_assets() -> Assets:
    """Read every static file of the package, and the style of the run card."""
    contents = {
        entry.name: entry.read_bytes()
        for entry in sorted(files("clew.web").joinpath("static").iterdir(), key=lambda e: e.name)
        if entry.is_file() and _suffix(entry.name) in _TYPES
    }
    contents["run_card.css"] = run_card_css().encode()
    digest = hashlib.sha256()
    for name, content in contents.items():
        digest.update(name.encode() + b"\0" + content + b"\0")
    return Assets(digest.hexdigest()[:12], contents)


@cache
def draws_digest() -> str:
    """Short hash of what the scripts that draw charts are made from: the release of vl-convert."""
    return hashlib.sha256(f"vl-convert-python {version('vl-convert-python')}".encode()).hexdigest()[
        :12
    ]


def draws_script() -> bytes:
    """Put together the scripts that draw charts: Vega, Vega-Lite and their embedding."""
    with _ONE_MAKES_IT:
        return _made()


@cache
def _made() -> bytes:
    import vl_convert

    return str(vl_convert.javascript_bundle("window.vegaEmbed = vegaEmbed;")).encode()


def _suffix(name: str) -> str:
    return "." + name.rpartition(".")[2]


def asset_router(assets: Assets) -> APIRouter:
    """Serve the static files."""
    router = APIRouter()

    @router.get("/static/{digest}/{name}", include_in_schema=False)
    def static(digest: str, name: str) -> Response:
        if (digest, name) == (draws_digest(), DRAWS):
            content: bytes | None = draws_script()
        else:
            content = assets.contents.get(name) if digest == assets.digest else None
        if content is None:
            return PlainTextResponse("There is no such file.", status_code=404)
        return Response(
            content, media_type=_TYPES[_suffix(name)], headers={"Cache-Control": _A_YEAR}
        )

    return router
