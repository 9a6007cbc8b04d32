"""Quantities, counts and other short texts as people write them."""

from __future__ import annotations

import math

from tests.fuzz.target import Target, check_line, may_refuse, text_of

from clew.quantities import KINDS, read_count, read_quantity
from clew.quantities.count import SYSTEMS, convert_count, count_system
from clew.quantities.show import in_unit, show, show_count

_UNITS = tuple({unit.encode() for kind in KINDS for unit in kind.units})
_SYSTEMS = tuple(system.name.encode() for system in SYSTEMS)


def _quantities() -> list[bytes]:
    return [
        f"{place}\n{written} {unit}".encode()
        for place, kind in enumerate(KINDS)
        for unit, written in zip(kind.units, ("1", "0.5", "-1e-3", "+12.", ".5", "7"), strict=False)
    ]


def _quantity(data: bytes) -> None:
    """The first line says which kind, the rest is the quantity; what is read is shown and read."""
    head, _, text = text_of(data).partition("\n")
    kind = KINDS[sum(head.encode("utf-8", "surrogateescape")) % len(KINDS)]
    if head.isascii() and head.isdigit():
        kind = KINDS[int(head[:4]) % len(KINDS)]
    with may_refuse():
        value = read_quantity(text, kind)
        assert math.isfinite(value)
        assert kind.low - 1e-9 <= value <= kind.high * (1 + 1e-12)
        for unit in kind.units:
            if not math.isfinite(in_unit(value, kind, unit)):
                continue
            shown = show(value, kind, unit=unit, digits=17)
            check_line(shown)
            again = read_quantity(shown, kind)
            slack = 1e-9 * max(abs(value), abs(kind.offsets.get(unit, 0.0)), 1e-9)
            assert abs(again - value) <= slack + 1e-300, (shown, value, again)


def _count(data: bytes) -> None:
    with may_refuse():
        tex = read_count(text_of(data))
        assert 0.0 < tex < math.inf
        for system in SYSTEMS:
            if min(tex, system.from_tex(tex)) > 1e-290 and system.from_tex(tex) < math.inf:
                shown = show_count(tex, system.name, digits=17)
                check_line(shown)
                assert math.isclose(read_count(shown), tex, rel_tol=1e-9), shown


def _convert(data: bytes) -> None:
    parts = (*text_of(data).split("\n"), "", "", "")
    with may_refuse():
        found = convert_count(read_count(f"{parts[0]} {parts[1]}"), parts[1], parts[2])
        assert 0.0 < found < math.inf or not 1e-300 < found < 1e300
    with may_refuse():
        assert count_system(parts[1]).name


def _plied(data: bytes) -> None:
    from clew.strand.notation import read_plied

    for order in (None, "ends-first", "count-first"):
        for counts in (None, "single", "resultant"):
            with may_refuse():
                found = read_plied(text_of(data), order=order, counts=counts)  # type: ignore[arg-type]
                assert 0.0 < found.single_tex < math.inf
                assert 0.0 < found.resultant_tex < math.inf
                assert found.plies >= 1


def _blend(data: bytes) -> None:
    from clew.strand.blend import fibre_of_word, read_blend

    with may_refuse():
        found = read_blend(text_of(data))
        assert found
        assert all(0.0 < share <= 1.0 for _, share in found)
        assert math.isclose(sum(share for _, share in found), 1.0, rel_tol=1e-6)
        assert read_blend(", ".join(f"{share * 100:.6f} % {name}" for name, share in found))
    with may_refuse():
        assert fibre_of_word(text_of(data))


def _cell(data: bytes) -> None:
    """Cells of several tables that hold one number or one time of day."""
    from clew.cli.line.events_file import read_clock
    from clew.cli.weigh.instrument_file import plain_number
    from clew.faults import Fault
    from clew.ledger.ingest.from_line_files import clock_s
    from clew.ledger.intake.shades import shade_number
    from clew.ledger.intake.weighings_columns import NumberReader

    text = text_of(data)
    for low in (-math.inf, 0.0):
        found = plain_number(text, low=low)
        if isinstance(found, Fault):
            check_line(str(found))
        else:
            assert math.isfinite(found) and found >= low
    for name in ("lightness", "a", "b"):
        with may_refuse():
            assert math.isfinite(shade_number(text, name))
    with may_refuse():
        assert 0.0 <= read_clock(text) < 86_400.0
    found_s = clock_s(text)
    assert found_s is None or 0.0 <= found_s < 86_400.0
    for comma in (False, True):
        with may_refuse():
            assert math.isfinite(NumberReader("mass_g", comma).cell(text))


def _moment(data: bytes) -> None:
    from clew.cli.ledger.moments import day_or_moment
    from clew.ledger.events.moments import read_moment, show_local, show_utc

    text = text_of(data)
    for zone in ("", "Europe/London", "Pacific/Apia", "UTC"):
        with may_refuse():
            found = read_moment(text, zone)
            shown = show_utc(found.at_us)
            assert read_moment(shown).at_us // 1_000_000 == found.at_us // 1_000_000, shown
            check_line(show_local(found.at_us, zone or "UTC"))
    for end in (False, True):
        with may_refuse():
            day_or_moment(text, "America/New_York", "--from", end=end)


def _shift(data: bytes) -> None:
    from datetime import UTC, datetime

    from tests.fuzz.demo import demo_mill

    from clew.plan.shift.which import read_shift

    on, _, start = text_of(data).partition("\n")
    with may_refuse():
        begins, ends = read_shift(
            demo_mill(), on, start, now=datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
        )
        assert begins < ends


TARGETS = (
    Target("quantities/quantity", _quantities, _quantity, _UNITS, cases=200, share=1.5),
    Target(
        "quantities/count",
        lambda: [b"400 tex", b"2.5 Nm", b"Nm 2.5", b"30 Ne", b"5 den", b"1e-3 ktex", b"4/2 Ne"],
        _count, _SYSTEMS,
    ),
    Target("quantities/convert", lambda: [b"400\ntex\nNm", b"30\nNe\ndtex"], _convert, _SYSTEMS),
    Target(
        "quantities/plied",
        lambda: [b"2/28 Nm", b"20/2 Ne", b"R 40 tex/2", b"20 tex x 2",
        "R 40 tex \u00d7 2".encode()],
        _plied, (*_SYSTEMS, b"silk", b"spun silk", b"/", b"x", b"R ", b"s"),
    ),
    Target(
        "quantities/blend",
        lambda: [b"70 % wool, 30 % nylon", b"wool 50 / mohair 50", b"100% cotton", b"pure wool"],
        _blend, (b"wool", b"nylon", b"silk", b"alpaca", b"%", b" percent ", b"/", b",", b" and "),
    ),
    Target(
        "quantities/cells",
        lambda: [b"12.5", b"-3,25", b"05:41", b"5:41:07.25", b"NaN", b"1e-3", b"23.82"],
        _cell, (b":", b".", b",", b"e"),
    ),
    Target(
        "quantities/moments",
        lambda: [
            b"2026-03-29T05:40:00Z", b"2026-03-29 05:40", b"2026-10-25T01:30:00.123456+01:00",
            b"2026-11-26", b"2011-12-30T12:00", b"2199-12-31T23:59:59-12:00",
        ],
        _moment, (b"Z", b"+01:00", b"-23:59", b"T", b".999999999"),
    ),
    Target(
        "quantities/shift", lambda: [b"2026-11-26\n06:00", b"\n14:00", b"2026-11-26\n"], _shift,
        (b"22:00", b"2026-W48-4", b"20261126"),
    ),
)  # fmt: skip
