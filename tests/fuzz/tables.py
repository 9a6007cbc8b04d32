"""Files of rows: weighings, shades, first balls, orders, plans, cone logs, events of a line."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from pathlib import Path

from tests.fuzz.demo import as_file, demo_file, demo_mill, scratch
from tests.fuzz.target import Target, check_line, may_refuse

from clew.ball.counter import Counter

_MARKS = (
    b",", b";", b"\t", b'"', b'""', b"\r\n", b"\r", b"sep=;\n", b"sep=,\r\n", b"\xef\xbb\xbf",
    b"1,5", b"1.005", b"-", b"#", b'"a\nb"', b",,,,", b"\xff\xfe", b"\n\n\n",
)  # fmt: skip


def _refusing(read: Callable[[Path], object]) -> Callable[[Path], object]:
    def fed(path: Path) -> None:
        with may_refuse():
            read(path)

    return fed


def _otherwise_written(data: bytes) -> list[bytes]:
    """The same rows as people's programs write them: semicolons and commas, tabs, as JSON lines."""
    rows = list(csv.reader(io.StringIO(data.decode())))
    semicolons, tabs = io.StringIO(), io.StringIO()
    csv.writer(semicolons, delimiter=";", lineterminator="\r\n").writerows(
        [[cell.replace(".", ",") for cell in row] for row in rows]
    )
    csv.writer(tabs, delimiter="\t", lineterminator="\n", quoting=csv.QUOTE_ALL).writerows(rows)
    return [
        data,
        b"\xef\xbb\xbfsep=;\r\n" + semicolons.getvalue().encode(),
        tabs.getvalue().encode(),
    ]


def _as_json_lines(data: bytes) -> list[bytes]:
    rows = list(csv.DictReader(io.StringIO(data.decode())))
    told = [
        {key: _json_value(cell) for key, cell in row.items() if cell and key is not None}
        for row in rows
    ]
    return ["\n".join(json.dumps(one) for one in told).encode() + b"\n"]


def _json_value(cell: str) -> object:
    try:
        return int(cell) if cell.isdecimal() else float(cell)
    except ValueError:
        return cell


def _weighings(path: Path) -> None:
    """Read, scanned and written again; what is written reads as the same."""
    from clew.ledger.intake.weighings import read_weighings, scan_file
    from clew.ledger.intake.weighings_clocks import tells_clocks

    tells_clocks(path)
    with may_refuse():
        read_weighings(path)
    with may_refuse():
        read_weighings(path, need=("mass_g", "lane"), only=("mass_g", "lane"))
    with may_refuse():
        for _, _, fault in scan_file(path).bad:
            check_line(str(fault))


def _import(path: Path) -> None:
    """The command that puts good rows in one file and bad ones in another: both or none."""
    from click.testing import CliRunner

    from clew.cli.main import main

    out = scratch() / "sound.csv"
    for old in scratch().glob("sound*"):
        old.unlink()
    result = CliRunner().invoke(main, ["weigh", "import", str(path), "--out", str(out)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code in (0, 1, 2)
    if result.exit_code == 2:
        assert not out.exists(), "half-written"
    elif out.exists():
        again = CliRunner().invoke(main, ["weigh", "import", str(out), "--json"])
        if again.exception is not None and not isinstance(again.exception, SystemExit):
            raise again.exception


def _shades(path: Path) -> object:
    from clew.ledger.intake.shades import read_shades

    return read_shades(path)


def _first_balls(path: Path) -> object:
    from clew.cli.ball.weighed_file import read_weighed

    return read_weighed(path)


def _cone_log(path: Path) -> object:
    from clew.cli.knots.cone_log_file import read_cone_log

    return read_cone_log(path)


def _knot_map(path: Path) -> object:
    from clew.cli.knots.cut import _read_map

    return _read_map(path, 1000.0)


def _trials(path: Path) -> object:
    from clew.ledger.intake.tables import read_columns
    from clew.quantities import FRACTION, TEMPERATURE, TIME

    return read_columns(path, {"time": TIME, "temperature": TEMPERATURE, "shrink": FRACTION})


def _studies(path: Path) -> None:
    from clew.cli.weigh.instrument_file import read_standards, read_study, read_tares

    for read in (read_study, read_tares, read_standards):
        with may_refuse():
            read(path)  # type: ignore[operator]


def _orders(data: bytes) -> None:
    from clew.plan.orders.reading import orders_from_csv

    with may_refuse():
        found = orders_from_csv(data.decode("utf-8-sig", "replace"), demo_mill(), file="orders.csv")
        assert len({one.number for one in found}) == len(found)


def _plan(data: bytes) -> None:
    from clew.plan.sequence.plan_file import present_from_csv

    with may_refuse():
        present_from_csv(data.decode("utf-8-sig", "replace"), demo_mill(), file="plan.csv")


def _plan_seeds() -> list[bytes]:
    return [
        b"line,place,run,order,ball,lot,start,end\r\n"
        b"Line 1,1,1101,1101,Querl 100,SL-207,2026-11-26T06:00+00:00,2026-11-26T08:00+00:00\r\n"
        b"Line 1,2,1102,1102,Querl 200,,2026-11-26T09:00+00:00,\r\n",
        b"line;place;run;start\nLine 2;1;1103/1;2026-11-26 06:00\n",
    ]


def _line_events(path: Path) -> None:
    from clew.cli.line.events_file import read_events

    with may_refuse():
        read_events(path, {lane: Counter("flyer", 1.0, 2.5) for lane in range(1, 7)})


def _seeds(data: Callable[[], bytes]) -> Callable[[], Sequence[bytes]]:
    return lambda: _otherwise_written(data())


_WEIGHED = b"time,lot,cone,lane,winder,ball,mass_g,gross_g,tare_g,length_m,tension_cn\n"
_WORDS = (
    *_MARKS, b"time", b"mass_g", b"gross_g", b"length_m", b"lane", b"winder", b"ball", b"lot",
    b"cone",
    b"tension_cn", b"tare_g", b"2026-11-23T06:01:19", b"06:01:19", b"23:59:59.999999", b"sample",
    b"2026-10-25T01:30:00+01:00",
)  # fmt: skip


def _weighing_seeds() -> list[bytes]:
    return [
        *_otherwise_written(demo_file("shift-weighings.csv")),
        _WEIGHED + b"06:00:01,SL-207,C1,1,1,1,100.2,103.2,3.0,200.1,12\n",
        b"mass_g\n100.1\n100.2\n\n99.9\n",
        b"sample,mass_g\n1,100\n1,101\n2,99\n",
    ]


TARGETS = (
    Target("tables/weighings", _weighing_seeds, as_file(".csv", _weighings), _WORDS, cases=60,
           share=2.0),
    Target(
        "tables/weighings-json", lambda: _as_json_lines(demo_file("shift-weighings.csv")),
        as_file(".jsonl", _weighings), (*_WORDS, b'{"', b"null", b"1e999", b"NaN"), cases=60,
    ),
    Target("tables/weigh-import", _weighing_seeds, as_file(".csv", _import), _WORDS, cases=8,
           limit_s=5.0),
    Target("tables/shades", _seeds(lambda: demo_file("shade-readings.csv")),
           as_file(".csv", _refusing(_shades)), (*_MARKS, b"lightness", b"a", b"b")),
    Target("tables/first-balls", _seeds(lambda: demo_file("first-balls.csv")),
           as_file(".csv", _refusing(_first_balls)),
           (*_MARKS, b"SL-207-01 60 % + SL-207-02 40 %", b"ball", b"101.6 g")),
    Target(
        "tables/cone-log",
        lambda: [b"cone,supplier,dye_lot,mass,count,knots\nC1,Mill A,SL-207,1.2 kg,500 tex,3\n"],
        as_file(".csv", _refusing(_cone_log)), _MARKS,
    ),
    Target("tables/knot-map", lambda: [b"position,kind\n12.5 m,break\n700 m,tie\n"],
           as_file(".csv", _refusing(_knot_map)), (*_MARKS, b"splice", b"0.0000001 m", b"1000 m")),
    Target("tables/trials", lambda: [b"time,temperature,shrink\n40 s,85 \xc2\xb0C,12 %\n"],
           as_file(".csv", _refusing(_trials)), _MARKS),
    Target(
        "tables/studies",
        lambda: [
            b"part,hand,trial,value_g\nB1,Ana,1,100.1\nB1,Bo,1,100.2\n",
            b"tare_g,error_g\n3.0,0.1\n3.1,-0.2\n", b"standard_g,shown_g\n100,100.02\n",
        ],
        as_file(".csv", _studies), _MARKS,
    ),
    Target("tables/orders", _seeds(lambda: demo_file("orders.csv")), _orders,
           (*_MARKS, b"one", b"case", b"any", b"2026-12-02", b"Line 1", b"1101"), share=1.5),
    Target("tables/plan", _plan_seeds, _plan, (*_MARKS, b"2026-11-26T06:00+00:00")),
    Target("tables/line-events", _seeds(lambda: demo_file("line_events.csv")),
           as_file(".csv", _line_events), (*_MARKS, b"tie", b"turns", b"doff", b"colour",
           b"speed")),
    Target(
        "tables/line-events-json", lambda: _as_json_lines(demo_file("line_events.csv")),
        as_file(".jsonl", _line_events), (b'{"at": ', b"null", b"1e999", b"true"),
    ),
)  # fmt: skip
