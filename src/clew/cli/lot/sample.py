"""`clew lot sample`: how many balls to draw for a fault, how many may be bad, and which to draw."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Quantity, as_json, checked_mill
from clew.cli.output import print_json
from clew.faults import BadInput, Fault
from clew.quantities import FRACTION, read_quantity

if TYPE_CHECKING:
    from clew.checks.attributes.inspection import Inspection
    from clew.checks.attributes.plans import AttributePlan

_LEVELS = ["S-1", "S-2", "S-3", "S-4", "I", "II", "III"]
_LETTER_WORDS = (
    "letters a (accepted), t (accepted, and would be at the next lower AQL too), "
    "g (accepted in the gap of reduced inspection), r (rejected)"
)


@dataclass(frozen=True)
class Asked:
    """What was asked for, read off the options."""

    lot_size: int | None
    plan: AttributePlan | None
    standard: Any
    points: Any
    kind: str

    @property
    def n(self) -> int:
        """Balls of the first drawing, or the whole lot."""
        return self.plan.first_n if self.plan is not None else int(self.standard.n)


def _sample_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options; the last stands first in the help."""
    share = Quantity(FRACTION)
    for decorate in reversed(
        [
            click.option("--lot-size", type=int, help="Balls in the lot; endless if left out."),
            click.option("--good", type=share, help='Share of bad balls that should pass: "1 %".'),
            click.option("--alpha", type=share, help='Risk that such a lot fails; "5 %".'),
            click.option("--bad", type=share, help='Share of bad balls that should fail: "6 %".'),
            click.option("--beta", type=share, help='Risk that such a lot passes; "10 %".'),
            click.option(
                "--kind",
                type=click.Choice(["single", "double", "zero"]),
                default="single",
                show_default=True,
                help="One drawing, two, or one that accepts at no bad ball.",
            ),
            click.option("--aql", help="A standard plan instead: AQL 0.10 to 10."),
            click.option(
                "--level",
                type=click.Choice(_LEVELS),
                default="II",
                show_default=True,
                help="Its inspection level.",
            ),
            click.option(
                "--severity",
                type=click.Choice(["normal", "tightened", "reduced"]),
                default=None,
                help="Its severity; normal, or what --history leads to.",
            ),
            click.option("--history", help=f"Lots before, oldest first: {_LETTER_WORDS}."),
            click.option("--n", type=int, help="A plan of your own: balls drawn."),
            click.option("--accept", type=int, help="Most bad balls it accepts at."),
            click.option("--reject", type=int, help="Least bad balls it rejects at, with --n2."),
            click.option("--n2", type=int, help="Balls of its second drawing."),
            click.option("--accept2", type=int, help="Most bad balls of both it accepts at."),
            click.option("--at", "at", multiple=True, help='Show the curve at "2 %" too.'),
            click.option("--found", multiple=True, help='Judge: "80,2", or "knots=80,2".'),
            click.option("--intraclass", type=float, help="How far balls of a cone share faults."),
            click.option(
                "--per-cone", type=int, default=1, show_default=True, help="Balls drawn of a cone."
            ),
            click.option("--draw", is_flag=True, help="Say which balls to draw."),
            click.option("--winders", type=int, help="Winders of the lot, for --draw."),
            click.option(
                "--listing",
                type=click.Path(path_type=Path),
                help="CSV of the lot's balls in order of time (winder, ball, cone), for --draw.",
            ),
            click.option("--seed", type=click.IntRange(0), default=1, show_default=True),
            click.option(
                "--mill",
                "mill_folder",
                type=click.Path(path_type=Path),
                default=None,
                help="Take --good and --bad from a mill's [checks].",
            ),
            as_json,
        ]
    ):
        command = decorate(command)
    return command


@click.command()
@_sample_options
def sample(as_json: bool, **given: Any) -> None:
    """Plans for faults by attributes: how many to draw, how many may be bad.

    A plan from two points (--good, --bad), a standard one (--aql), or your own (--n, --accept).
    """
    from clew.checks.attributes.inspection import judge_all
    from clew.cli.lot.sample_draw import draw_list
    from clew.cli.lot.sample_words import plain, tell

    # A listing is the lot: its size follows from it.
    listing = given["listing"]
    drawn = None
    if listing is not None or given["winders"] is not None:
        given["draw"] = True
    if listing is not None and given["lot_size"] is None:
        from clew.cli.lot.sample_draw import balls_listed

        given["lot_size"] = balls_listed(listing)
    standing = _standing(given)
    asked = _asked(given, standing)
    shares = _shares(given["at"])
    found = _found(given["found"])
    verdicts = [] if not found else judge_all(found, asked.plan or _whole(asked), asked.lot_size)
    if given["draw"]:
        drawn = draw_list(asked.n, asked.lot_size, listing, given["winders"], given["seed"])
    clumps = None
    if given["intraclass"] is not None:
        clumps = (given["intraclass"], given["per_cone"])
    # Worked out whole before a word is printed: a fault comes alone.
    answer = plain(asked, standing, shares, verdicts, drawn, clumps)
    if as_json:
        print_json(answer)
    else:
        tell(asked, standing, shares, verdicts, drawn, clumps)
    if any(one.outcome != "accept" for one in verdicts):
        click.get_current_context().exit(1)


def _standing(given: dict[str, Any]) -> Any:
    """Follow the lots before, if they were given."""
    history = given["history"]
    if history is None:
        return None
    from clew.checks.attributes.iso2859 import standard_plan
    from clew.checks.attributes.switching import InspectedLot, Standing, after_lot

    text = re.sub(r"[\s,]", "", history).lower()
    if given["aql"] is None or given["lot_size"] is None:
        raise BadInput(Fault("a history without a standard plan", "--aql and --lot-size beside it"))
    if given["severity"] is not None:
        raise BadInput(
            Fault("a severity and a history that leads to one", "one of the two", key="--severity")
        )
    if not text or set(text) - set("atgr"):
        raise BadInput(
            Fault("not a history", _LETTER_WORDS, key="--history", value=repr(history[:40]))
        )
    now = Standing()
    for place, letter in enumerate(text, 1):
        if now.state == "stopped":
            raise BadInput(
                Fault(
                    f"lots after inspection was stopped, from lot {place} on",
                    expected="a history that begins after the cause was mended",
                    key="--history",
                )
            )
        plan = standard_plan(given["lot_size"], given["aql"], given["level"], now.state)
        try:
            now = after_lot(
                now, InspectedLot(letter != "r", plan.accept, letter == "t", letter == "g")
            )
        except BadInput as bad:
            raise BadInput(
                Fault(f"lot {place}: {bad.faults[0].what}", bad.faults[0].expected, key="--history")
            ) from None
    return now


def _asked(given: dict[str, Any], standing: Any) -> Asked:
    ways = {
        "two points": any(given[key] is not None for key in ("good", "bad", "alpha", "beta"))
        or given["mill_folder"] is not None,
        "--aql": given["aql"] is not None,
        "--n": given["n"] is not None,
    }
    named = [way for way, there in ways.items() if there]
    if len(named) != 1:
        raise BadInput(
            Fault(
                "two plans at once" if named else "no plan asked for",
                expected='--good "1 %" --bad "6 %", or --aql 1.5, or --n 80 --accept 2',
                value=" and ".join(named),
            )
        )
    if named == ["--aql"]:
        return _asked_standard(given, standing)
    return _asked_own(given) if named == ["--n"] else _asked_points(given)


def _asked_standard(given: dict[str, Any], standing: Any) -> Asked:
    from clew.checks.attributes.iso2859 import standard_plan

    if given["lot_size"] is None:
        raise BadInput(Fault("no size of the lot", "--lot-size 3000", key="--aql"))
    severity: Any = given["severity"] or (standing.state if standing is not None else "normal")
    if severity == "stopped":
        raise BadInput(
            Fault(
                "inspection is stopped: five lots were rejected under tightened inspection",
                expected="the cause found and mended; then begin with --severity tightened",
            )
        )
    try:
        found = standard_plan(given["lot_size"], given["aql"], given["level"], severity)
    except BadInput as bad:
        raise BadInput(
            [
                Fault(one.what, one.expected, key=one.key or "--aql", value=one.value)
                for one in bad.faults
            ]
        ) from None
    return Asked(given["lot_size"], found.plan, found, None, "single")


def _asked_own(given: dict[str, Any]) -> Asked:
    from clew.checks.attributes.plans import check_fits, double_plan, single_plan

    if given["accept"] is None:
        raise BadInput(Fault("no number of bad balls", "--accept 2", key="--n"))
    second = [given["reject"], given["n2"], given["accept2"]]
    if all(one is None for one in second):
        plan, kind = single_plan(given["n"], given["accept"]), "single"
    elif second[1] is None or second[2] is None:
        raise BadInput(Fault("half a second drawing", "--n2 and --accept2, and --reject"))
    else:
        reject = second[2] + 1 if second[0] is None else second[0]
        plan = double_plan(given["n"], given["accept"], reject, second[1], second[2])
        kind = "double"
    check_fits(plan, given["lot_size"])
    return Asked(given["lot_size"], plan, None, None, kind)


def _asked_points(given: dict[str, Any]) -> Asked:
    from clew.checks.attributes import design

    good, bad = given["good"], given["bad"]
    if given["mill_folder"] is not None:
        rules = checked_mill(given["mill_folder"]).checks
        good = rules.fault_good_frac if good is None else good
        bad = rules.fault_bad_frac if bad is None else bad
    if bad is None or (good is None and given["kind"] != "zero"):
        raise BadInput(
            Fault("half of the two points", 'both --good "1 %" and --bad "6 %", or --mill DIR')
        )
    points = design.Points(
        0.0 if good is None else good,
        0.05 if given["alpha"] is None else given["alpha"],
        bad,
        0.10 if given["beta"] is None else given["beta"],
        given["lot_size"],
    )
    plan = {
        "single": design.design_single,
        "double": design.design_double,
        "zero": design.design_zero,
    }[given["kind"]](points)
    return Asked(given["lot_size"], plan, None, points, given["kind"])


def _whole(asked: Asked) -> AttributePlan:
    """The plan of a lot that is looked at whole."""
    from clew.checks.attributes.plans import single_plan

    return single_plan(asked.n, min(asked.standard.reject - 1, asked.n - 1))


def _shares(texts: tuple[str, ...]) -> tuple[float, ...]:
    shares = []
    for text in texts:
        for one in text.split(","):
            try:
                shares.append(read_quantity(one, FRACTION))
            except BadInput as bad:
                fault = bad.faults[0]
                raise BadInput(
                    Fault(fault.what, fault.expected, key="--at", value=fault.value)
                ) from None
    return tuple(shares)


def _found(texts: tuple[str, ...]) -> list[Inspection]:
    from clew.checks.attributes.inspection import Inspection

    found = []
    for text in texts:
        match = re.fullmatch(r"\s*(?:([^=]{1,40}?)\s*=)?\s*(\d{1,7})\s*,\s*(\d{1,7})\s*", text)
        if match is None:
            raise BadInput(
                Fault(
                    "not what was found",
                    expected='balls looked at and bad: "80,2", or "knots=80,2"',
                    key="--found",
                    value=repr(text[:40]),
                )
            )
        found.append(Inspection((match[1] or "fault").strip(), int(match[2]), int(match[3])))
    return found
