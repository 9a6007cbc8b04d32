"""Codes: bands, GS1 element strings, package names, anchors, topics, sheets of paper."""

from __future__ import annotations

from tests.fuzz.demo import as_file
from tests.fuzz.target import Target, check_line, may_refuse, text_of

_ELEMENTS = (b"\x1d", b"]C1", b"(01)", b"(10)", b"(37)", b"(02)", b"(00)", b"01", b"10", b"3103",
             b"09521234001017", b"395212340000000017")  # fmt: skip
_YEAR_2100_US, _YEAR_2200_US = 4_102_400_000_000_000, 7_258_118_400_000_000
_DAY_US = 86_400_000_000


def _band(data: bytes) -> None:
    from clew.ledger.trace.band_code import read_band_code, spans_of, write_band_code

    text = text_of(data)
    for zone, lines in (
        ("Europe/London", ("Line 1", "Line 2")),
        ("UTC", ()),
        ("Asia/Kathmandu", ()),
    ):
        with may_refuse():
            found = read_band_code(text, zone, lines=lines)
            assert found.spans_us and all(first <= last for first, last in found.spans_us)
            assert found.spans_us[0][0] < _YEAR_2200_US + _DAY_US
            if found.spans_us[0][0] >= _YEAR_2100_US:
                return  # a band's two figures are of this century
            written = write_band_code(
                found.lot, found.line, found.winder, found.spans_us[0][0], zone
            )
            again = read_band_code(written, zone, lines=lines)
            assert again.spans_us == found.spans_us, written
            assert again.winder == found.winder
        with may_refuse():
            spans_of(text, zone)


def _elements(data: bytes) -> None:
    from clew.checks.band.gs1 import (
        batch_fits,
        characters_of,
        element_string,
        from_brackets,
        in_brackets,
        in_set_82,
        read_elements,
    )  # fmt: skip

    text = text_of(data)
    in_set_82(text)
    batch_fits(text)
    for read in (read_elements, from_brackets):
        with may_refuse():
            found = read(text)
            written = element_string(found)
            assert read_elements(written) == found
            if not any(
                "(" in one.data for one in found
            ):  # it says that those may be read otherwise
                assert from_brackets(in_brackets(found)) == found
            assert characters_of(found) >= len(found)


def _keys(data: bytes) -> None:
    from clew.checks.band.gs1 import case_gtin_for, sscc_for
    from clew.mill.gs1_keys import sscc_of

    parts = (*text_of(data).split("\n"), "", "", "")
    serial = int(parts[1][:18]) if parts[1][:18].isascii() and parts[1][:18].isdigit() else -1
    with may_refuse():
        assert sscc_of(sscc_for(parts[0], serial, serial % 11))
    with may_refuse():
        case_gtin_for(parts[0], serial % 11)


def _package(data: bytes) -> None:
    from clew.ledger.shipping.names import package_said

    said = package_said(text_of(data))
    assert package_said(said) == said


def _anchor(data: bytes) -> None:
    from clew.ledger.audit.anchors import read_anchor

    with may_refuse():
        found = read_anchor(text_of(data))
        check_line(found.text())
        again = read_anchor(found.text())
        assert (again.line, again.seq, again.check) == (found.line, found.seq, found.check)
        assert read_anchor(found.code()) == found


def _anchor_seeds() -> list[bytes]:
    from clew.ledger.audit.anchors import anchor_at

    made = [anchor_at("Line 1", 12, bytes(range(32))), anchor_at("", 1_000_000, bytes(32))]
    return [one.text().encode() for one in made] + [one.code().encode() for one in made]


def _anchors_file_seeds() -> list[bytes]:
    import json

    from clew.ledger.audit.anchors import anchor_at

    one = anchor_at("Line 1", 12, bytes(range(32)))
    return [
        b"# of Monday\n" + one.text().encode() + b"\n\n" + one.code().encode(),
        json.dumps({"anchors": [one.plain() | {"code": one.code()}]}).encode(),
    ]  # fmt: skip


def _anchors(path: object) -> None:
    from clew.ledger.audit.anchors import read_anchors

    with may_refuse():
        read_anchors(path)  # type: ignore[arg-type]


def _topic(data: bytes) -> None:
    from clew.ledger.ingest.topics import read_topic, topic_of

    with may_refuse():
        found = read_topic(text_of(data))
        assert read_topic(topic_of(found.line, found.source)) == found


def _sheet(data: bytes) -> None:
    from clew.ledger.ingest.paper import read_sheet

    with may_refuse():
        found = read_sheet(text_of(data))
        assert read_sheet(found.code) == found


def _names(data: bytes) -> None:
    """Words of a band's text and of fibres that a mill may have typed by itself."""
    from clew.checks.band.fibre_names import said_content
    from clew.checks.release.band import said_on_band

    lines = text_of(data).split("\n")
    said_content(lines)
    said_on_band(lines)


def _printed(data: bytes) -> None:
    """Any word at all comes out as one that the papers can be set with."""
    import typst

    from clew.papers.letters import printable

    typst.compile(
        _PAPER, sys_inputs={"text": printable(text_of(data))}, ignore_system_fonts=True,
        pdf_standards=["ua-1"],
    )  # fmt: skip


_PAPER = b"""
#set document(title: "any")
#set text(lang: "en", font: ("Libertinus Serif", "DejaVu Sans Mono", "New Computer Modern Math"))
#sys.inputs.text
"""

TARGETS = (
    Target(
        "codes/band",
        lambda: [b"SL-207 L1 W4 251125-1432", b"sl-207, line 1; winder 4 2025-11-25T14:32"],
        _band, (b" W4 ", b" winder ", b"251025-0130", b"Line_1", b",", b"00000000"),
    ),
    Target(
        "codes/elements",
        lambda: [
            b"]C10109521234001017" + b"10SL-207\x1d3712", b"(01)09521234001017(10)SL-207",
            b"00395212340000000017", b"(02)09521234001017(37)12(10)A(10",
        ],
        _elements, _ELEMENTS,
    ),
    Target("codes/keys", lambda: [b"9521234\n12", b"9521234001017\n3"], _keys),
    Target("codes/package", lambda: [b"(00)395212340000000017", b"C-0001", b"00 3952 1234"],
           _package, _ELEMENTS),
    Target("codes/anchor", _anchor_seeds, _anchor, ("·".encode(), b";", b"-", b"O", b"Line 1")),
    Target("codes/anchors-file", _anchors_file_seeds, as_file(".txt", _anchors), (b"{", b'"line"')),
    Target("codes/topic", lambda: [b"clew/1/Line 1/scale-2", b"clew/1//x%2F%41"], _topic,
           (b"/", b"%2F", b"%00", b"%C3%A9", b"%25", b"clew/1/")),
    Target("codes/sheet", lambda: [b"T-261126-1", b"t-010203-0004"], _sheet, (b"T-", b"-")),
    Target(
        "codes/band-text",
        lambda: [b"100 g e 330 m\n70 % Wool 30 % Polyamide\nMade in Wales",
        b"3.5 oz / 7,05 oz\nall wool"],
        _names, (b"% ", b" g", b" oz", b"pure ", b"\xe2\x84\xae", b"1,000 m"),
    ),
    Target("codes/printable", lambda: [b"Querl 100", "\u0141\u00f3d\u017a \u7d61".encode()],
    _printed,
           cases=20),
)  # fmt: skip
