"""Pages are packed on the way, but never where their length would tell a secret."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.mill import write_demo
from clew.web.app import create_app


def _way(folder: Path, scheme: str, path: str) -> str | None:
    write_demo(folder)
    with TestClient(create_app(folder), base_url=f"{scheme}://127.0.0.1") as at:
        if path == "asset":
            page = at.get("/who").text
            path = page.split('rel="stylesheet" href="')[1].split('"')[0]
        answer = at.get(path, headers={"accept-encoding": "gzip"})
        assert answer.status_code == 200
        packed: str | None = answer.headers.get("content-encoding")
        return packed


@pytest.mark.parametrize(
    ("scheme", "path", "packed"),
    [("http", "/who", "gzip"), ("https", "/who", None), ("https", "asset", "gzip")],
)
def test_a_page_over_tls_keeps_its_length(
    tmp_path: Path, scheme: str, path: str, packed: str | None
) -> None:
    assert _way(tmp_path / "mill", scheme, path) == packed
