"""`clew weigh import`: read a file of weighings, part the good rows from the bad, lose none."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json
from clew.cli.output import print_json, print_table
from clew.faults import BadInput

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from clew.checks.weighings import Weighings
    from clew.ledger.intake.weighings import Scan

_MOST_SHOWN = 20
_MOST_JSON = 200
_COUNTED = ("winder", "lane", "lot", "cone", "group")


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option(
    "--out", type=click.Path(path_type=Path), help="Write the good rows to this CSV file."
)
@click.option(
    "--rejected",
    type=click.Path(path_type=Path),
    help="Write the refused rows to this CSV file: line, reason, the row as it stood.",
)
@click.option("--overwrite", is_flag=True, help="Write over such files where they are there.")
@as_json
def import_(
    file: Path, out: Path | None, rejected: Path | None, overwrite: bool, as_json: bool
) -> None:
    """Read a FILE of weighings; say what is in it, and name each bad row.

    FILE is CSV (commas, semicolons or tabs) or JSON lines (.jsonl, .ndjson), with any of the
    columns time, group, lot, cone, lane, winder, ball, mass_g, gross_g, tare_g, length_m,
    regain_frac, since_dryer_min and tension_cn. Numbers are plain, or with their unit: "3.5 oz".

    Exit code 1: some rows were refused.
    """
    from clew.ledger.intake.weighings import scan_file
    from clew.ledger.intake.weighings_writing import (
        check_targets,
        clean_rows,
        rejected_rows,
        write_together,
    )

    check_targets(file, [path for path in (out, rejected) if path], overwrite=overwrite)
    scan = scan_file(file)
    files = []
    if out is not None and scan.table.rows:
        files.append((out, clean_rows(scan)))
    if rejected is not None:
        files.append((rejected, rejected_rows(scan.bad)))
    write_together(files)
    written = {path for path, _ in files}
    answer = _answer(scan, file) | {
        "out": str(out) if out in written else None,
        "rejected": str(rejected) if rejected in written else None,
    }
    if as_json:
        print_json(answer)
    else:
        _tell(answer, out)
    sys.exit(1 if answer["bad"] else 0)


def _answer(scan: Scan, file: Path) -> dict[str, Any]:
    from clew.checks.weighings import FACTORS, NUMBERS
    from clew.ledger.intake.weighings_whole import regain_hint, yard_hint
    from clew.ledger.intake.weighings_writing import by_line

    table = scan.table
    bad = by_line(scan.bad)
    held = {*table.factors, *table.numbers}
    mass, mass_key, mass_words = _mass(table)
    return {
        "file": str(file),
        "rows": scan.rows,
        "good": table.rows,
        "bad": len(bad),
        "columns": [name for name in (*FACTORS, *NUMBERS) if name in held],
        "weighed": _count(mass),
        "reeled": _count(table.numbers.get("length_m")),
        "counted": {
            name: len(table.factors[name].names) for name in _COUNTED if name in table.factors
        },
        "lots": list(table.factors["lot"].names) if "lot" in table.factors else [],
        **_span(scan),
        "mass_is": mass_words,
        "mass_of": mass_key,
        "by": _by(table),
        "means": _means(table, mass),
        "hints": [hint for hint in (yard_hint(table), regain_hint(table)) if hint],
        "bad_rows": [
            {"line": line, "reasons": reasons, "row": row}
            for line, (row, reasons) in list(bad.items())[:_MOST_JSON]
        ],
    }


def _count(values: NDArray[np.float64] | None) -> int:
    import numpy as np

    return 0 if values is None else int(np.count_nonzero(~np.isnan(values)))


def _mass(table: Weighings) -> tuple[NDArray[np.float64] | None, str | None, str]:
    """Give net mass as weighed; gross, and said so, where no tare is known."""
    from clew.checks.condition import net_mass

    if "mass_g" not in table.numbers and "gross_g" not in table.numbers:
        return None, None, "No column of mass."
    try:
        net, words = net_mass(table)
    except BadInput:
        return table.numbers["gross_g"], "gross", "Gross mass: the file has no tare for every row."
    return net, "net", words


def _span(scan: Scan) -> dict[str, Any]:
    import numpy as np

    from clew.ledger.intake.weighings_writing import shown_time

    empty = {"time_from": None, "time_to": None, "time_span_s": None}
    times = scan.table.numbers.get("time_s")
    if times is None or not _count(times):
        return empty
    first, last = float(np.nanmin(times)), float(np.nanmax(times))
    return {
        "time_from": shown_time(first, scan.time_kind, to_the_second=scan.time_to_the_second),
        "time_to": shown_time(last, scan.time_kind, to_the_second=scan.time_to_the_second),
        "time_span_s": last - first,
    }


def _by(table: Weighings) -> str | None:
    return next((name for name in ("winder", "lane") if name in table.factors), None)


def _means(table: Weighings, mass: NDArray[np.float64] | None) -> list[dict[str, Any]]:
    """Mean and spread of mass, and mean length, by winder; of all where no winder is named."""
    import numpy as np

    by = _by(table)
    names: tuple[str, ...] = ("all",)
    codes = np.zeros(table.rows, dtype=np.int32)
    if by is not None:
        names, codes = table.factors[by].names, table.factors[by].codes
    length = table.numbers.get("length_m")
    found = []
    for code, name in sorted(enumerate(names), key=lambda one: _in_order(one[1])):
        rows = codes == code
        row: dict[str, Any] = {"name": name, "balls": int(np.count_nonzero(rows))}
        for key, values in (("mass_g", mass), ("length_m", length)):
            told = np.zeros(0) if values is None else values[rows & ~np.isnan(values)]
            row[f"n_{key}"] = len(told)
            row[f"mean_{key}"] = float(np.mean(told)) if len(told) else None
            row[f"sd_{key}"] = float(np.std(told, ddof=1)) if len(told) > 1 else None
        found.append(row)
    return found


def _in_order(name: str) -> tuple[bool, float, str]:
    """Sort names that are numbers by number, before the others."""
    plain = name.isascii() and name.isdigit()
    return not plain, float(name) if plain else 0.0, name


def _tell(answer: dict[str, Any], out: Path | None) -> None:
    good, bad = answer["good"], answer["bad"]
    if good:
        click.echo(_headline(answer))
    else:
        click.echo("No row is good.")
    if bad:
        click.echo(f"{_rows(bad)} of {answer['rows']} refused:")
        for one in answer["bad_rows"][:_MOST_SHOWN]:
            click.echo(f"  line {one['line']}: {'; '.join(one['reasons'])}")
        if bad > _MOST_SHOWN:
            more = "" if answer["rejected"] else "; --rejected FILE writes them all"
            click.echo(f"  and {bad - _MOST_SHOWN} more{more}")
    for hint in answer["hints"]:
        click.echo(hint)
    if good and answer["mass_of"]:
        click.echo("")
        _print_means(answer)
        click.echo(answer["mass_is"])
    elif good:
        click.echo(answer["mass_is"])
    if out is not None and not answer["out"]:
        click.echo(f"{out} was not written: there is no good row.")
    for key, words in (("out", "good rows"), ("rejected", "refused rows")):
        if answer[key]:
            click.echo(f"wrote {words} to {answer[key]}")


def _rows(count: int) -> str:
    return f"{count} row" if count == 1 else f"{count} rows"


def _plural(count: int, name: str) -> str:
    return f"{count} {name}" if count == 1 else f"{count} {name}s"


def _headline(answer: dict[str, Any]) -> str:
    words = {"lot": "dye lot"}
    counted = [_plural(count, words.get(name, name)) for name, count in answer["counted"].items()]
    text = _plural(answer["good"], "ball")
    text += f", {', '.join(counted)}" if counted else ""
    if answer["time_from"] is not None:
        text += f", {answer['time_from']} to {answer['time_to']}"
    missing = []
    if answer["weighed"] < answer["good"]:
        missing.append(f"{answer['weighed']} weighed")
    if answer["reeled"]:
        missing.append(f"{answer['reeled']} reeled")
    text += f"; {', '.join(missing)}" if missing else ""
    return f"{text}. {'No row was refused.' if not answer['bad'] else ''}".rstrip()


def _print_means(answer: dict[str, Any]) -> None:
    reeled = bool(answer["reeled"])
    head = [answer["by"] or "", "balls", "mean g", "sd g"]
    head += ["reeled", "mean m"] if reeled else []
    rows = []
    for one in answer["means"]:
        cells = [
            one["name"],
            str(one["balls"]),
            _figure(one["mean_mass_g"]),
            _figure(one["sd_mass_g"]),
        ]
        if reeled:
            cells += [str(one["n_length_m"]), _figure(one["mean_length_m"])]
        rows.append(cells)
    print_table(head, rows)


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}"
