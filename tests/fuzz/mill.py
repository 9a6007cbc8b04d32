"""The mill file: its text, its exchange with JSON, the tables of net content, GS1 keys."""

from __future__ import annotations

import json
import re
import tomllib

from tests.fuzz.demo import demo_folder, scratch
from tests.fuzz.target import Target, may_refuse, text_of

_HEADING = re.compile(r"(?m)^(?=\[)")


def _whole() -> str:
    return (demo_folder() / "mill.toml").read_text("utf-8")


def _sections() -> list[bytes]:
    """The whole file, and each of its sections alone."""
    parts = [part for part in _HEADING.split(_whole()) if part.strip()]
    return [part.encode() for part in parts]


def _small_mills() -> list[bytes]:
    """The file with most entries of each kind left out, so that an input stays short."""
    seen: dict[str, int] = {}
    kept = []
    for part in _HEADING.split(_whole()):
        head = part.split("]")[0]
        seen[head] = seen.get(head, 0) + 1
        if seen[head] <= 1:
            kept.append("\n".join(line for line in part.split("\n") if not line.startswith("#")))
    small = "".join(kept)
    return [small.encode(), _whole().encode()]


def _words() -> tuple[bytes, ...]:
    found = dict.fromkeys(re.findall(r"(?m)^\s*([a-z0-9_]+)\s*=", _whole()))
    heads = dict.fromkeys(re.findall(r"(?m)^(\[\[?[a-z_.]+\]\]?)", _whole()))
    return (
        *(f"{one} = ".encode() for one in found), *(f"\n{one}\n".encode() for one in heads),
        b'"""', b"'''", b"= { ", b" }", b"[[", b"]]", b"2026-11-26", b"07:32:00",
        b"1979-05-27T07:32:00Z",
        b"0o17", b"0b1", b"1e3", b"inf", b"nan", b"a.b.c.d = 1", b"\\u0041", b'"\\uD800"', b"-0.0",
    )  # fmt: skip


def _text(data: bytes) -> None:
    """Text to mill, with all checks; what is a mill goes over to JSON and back and is the same."""
    from clew.ball.mill_checks import MILL_CHECKS
    from clew.mill.exchange import json_to_text, mill_to_plain, text_to_json
    from clew.mill.reading import mill_from_text

    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return
    with may_refuse():
        mill = mill_from_text(text, "mill.toml", MILL_CHECKS)
        again = mill_from_text(json_to_text(text_to_json(text)), "mill.toml")
        assert mill_to_plain(again) == mill_to_plain(mill)


def _file(data: bytes) -> None:
    from clew.mill import read_mill

    path = scratch() / "mill.toml"
    path.write_bytes(data)
    with may_refuse():
        read_mill(path)


def _to_json(data: bytes) -> None:
    """TOML that is no mill goes over to JSON and back too."""
    from clew.mill.exchange import json_to_text, text_to_json

    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return
    with may_refuse():
        said = text_to_json(text)
        assert json.loads(text_to_json(json_to_text(said))) == json.loads(said)


def _from_json(data: bytes) -> None:
    from clew.mill.exchange import json_to_text, text_to_json

    with may_refuse():
        text = json_to_text(text_of(data))
        tomllib.loads(text)
        text_to_json(text)


def _json_seeds() -> list[bytes]:
    from clew.mill.exchange import text_to_json

    return [text_to_json(part.decode()).encode() for part in _sections()[:30]]


def _gs1(data: bytes) -> None:
    from clew.mill import gs1_keys

    text = text_of(data)
    for length in ((8,), (12,), (13,), (14,), (18,), (8, 12, 13, 14)):
        gs1_keys.is_key(text, length)
    for read in (
        gs1_keys.company_prefix_of, gs1_keys.gtin_of, gs1_keys.sscc_of, gs1_keys.gln_of,
    ):  # fmt: skip
        with may_refuse():
            read(text)


def _tables_seeds() -> list[bytes]:
    from clew.mill.net_content import built_in_text

    text = built_in_text()
    parts = [part.encode() for part in _HEADING.split(text) if part.strip()]
    return [text.encode(), *parts]


def _tables(data: bytes) -> None:
    from clew.mill.net_content import read_tables

    folder = scratch() / "tables"
    folder.mkdir(exist_ok=True)
    (folder / "net_content.toml").write_bytes(data)
    with may_refuse():
        read_tables(folder)


def _shows(data: bytes) -> None:
    """The demo mill with one section more: what a person changes in a sound file."""
    _text(_whole().encode() + b"\n" + data)


TARGETS = (
    Target(
        "mill/text", _small_mills, _text, _words, cases=5, limit_s=6.0, most_bytes=60_000,
        share=2.0,
    ),
    Target("mill/one-more", _sections, _shows, _words, cases=8, limit_s=6.0, share=1.5),
    Target("mill/file", _sections, _file, _words, cases=60, limit_s=4.0),
    Target("mill/to-json", _sections, _to_json, _words, cases=100, limit_s=4.0),
    Target(
        "mill/from-json", _json_seeds, _from_json,
        (b'{"a": ', b'"mill"', b"null", b"1e999", b'"\\ud800"', b"Infinity", b"[", b"]",
        b'"2026-11-26"'),
        cases=100,
    ),
    Target(
        "mill/gs1-keys", lambda: [b"9521234", b"09521234001017", b"395212340000000017",
        b"40123455"],
        _gs1,
    ),
    Target("mill/net-content", _tables_seeds, _tables, lambda: _words()[-18:], cases=15,
    limit_s=4.0,
           most_bytes=30_000),
)  # fmt: skip
