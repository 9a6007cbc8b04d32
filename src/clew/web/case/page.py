"""Case: which bag, case and pallet a ball goes in, and what it costs by the time it leaves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from urllib.parse import urlencode

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.model import Mill
from clew.mill.net_content import Tables
from clew.mill.pack_rules import CaseSize
from clew.plan.costing.ball_cost import BallCost, ball_cost
from clew.plan.costing.sensitivities import CostStep, cost_steps
from clew.plan.packing.answer import MOST_BALLS_PER_BAG, PackAnswer, pack_answer
from clew.web.asked.chosen import Choice, Choices, Chosen, choose
from clew.web.asked.whole import whole_typed
from clew.web.band.said import fault_words
from clew.web.mill_on_disk import Reading

PACK_KEYS, COST_KEYS = ("ball", "case", "bag"), ("ball", "lot", "line", "run_balls", "worth")
CASE_KEYS = ("ball", "lot", "line", "case", "bag", "run_balls")
MOST_IN_RUN = 1_000_000
_INPUTS = ("case", "bag", "run_balls")


@dataclass(frozen=True, slots=True)
class CasePage:
    """What the page was asked, with its answer.

    Attributes
    ----------
    chosen : Chosen
        Ball, dye lot and line.
    cases : Choices
        Case sizes that can be chosen.
    bag, run_balls : str
        Balls to a bag, and balls of a run, as typed; empty for the mill's own.
    faults : tuple of Fault
        What is wrong.
    pack : PackAnswer or None
        How the ball is best packed; None while something is wrong with what was typed.
    cost : BallCost or None
        What it costs by the time it leaves, packed as the mill file says; None likewise.
    """

    chosen: Chosen
    cases: Choices
    bag: str
    run_balls: str
    faults: tuple[Fault, ...]
    pack: PackAnswer | None
    cost: BallCost | None

    @property
    def query(self) -> str:
        """The page's questions, written out for a link."""
        own = {"case": self.cases.value, "bag": self.bag, "run_balls": self.run_balls}
        said = urlencode({key: text for key, text in own.items() if text})
        return f"{self.chosen.query}&{said}" if said else self.chosen.query

    def fault_of(self, key: str) -> str:
        """What is wrong with an input; empty where nothing is."""
        said = (
            say("{what}; expected {expected}", what=one.what, expected=one.expected)
            for one in self.faults
            if one.key == key
        )
        return next(said, "")

    @staticmethod
    def fault_words(one: Fault) -> str:
        """Say all of a fault: where, what, what was found, what was expected."""
        return fault_words(one)

    @property
    def faults_elsewhere(self) -> tuple[Fault, ...]:
        """What is wrong and stands beside no input of the page."""
        return tuple(one for one in self.faults if one.key not in _INPUTS)


def open_case(reading: Reading, asked: Mapping[str, str]) -> CasePage:
    """Answer the page.

    Parameters
    ----------
    reading : Reading
        The mill as it stands on disk.
    asked : mapping of str to str
        What the address says.

    Returns
    -------
    CasePage
        The page's content; what is wrong with an input is a fault on the page.

    Raises
    ------
    BadInput
        When a ball, dye lot or line is not in the mill file.
    """
    mill = reading.mill
    chosen = choose(mill, asked)
    faults: list[Fault] = []
    bag = _whole(asked, "bag", MOST_BALLS_PER_BAG, faults)
    run_balls = _whole(asked, "run_balls", MOST_IN_RUN, faults)
    wanted = asked.get("case", "").strip()
    case = next((one for one in mill.pack.case if one.name == wanted), None)
    if wanted and case is None:
        names = joined(", ", (one.name for one in mill.pack.case)) or say("a case under [pack]")
        faults.append(
            Fault(
                say("no such case"),
                say("one of {names}", names=names),
                key="case",
                value=repr(wanted)[:80],
            )
        )
    pack = cost = None
    if not faults:
        try:
            held = _Held(reading)
            pack = _packed(held, chosen.ball.name, bag, case)
            lot, line = chosen.lot_name, chosen.line.name
            cost = _cost(held, chosen.ball.name, lot, line, run_balls)
        except BadInput as bad:
            faults += [_of_page(one) for one in bad.faults]
    offers = (Choice("", say("any of the mill's")),
              *(Choice(one.name, _case_words(one)) for one in mill.pack.case))  # fmt: skip
    return CasePage(
        chosen=chosen, cases=Choices("case", say("Case"), offers, wanted),
        bag=asked.get("bag", "").strip(), run_balls=asked.get("run_balls", "").strip(),
        faults=tuple(faults), pack=pack, cost=cost,
    )  # fmt: skip


def worth_of(mill: Mill, page: CasePage, tables: Tables) -> tuple[CostStep, ...]:
    """Work out what one more of each input costs the page's ball.

    Parameters
    ----------
    mill : Mill
        The mill.
    page : CasePage
        A page with its cost.
    tables : Tables
        Tables of the net-content rules, for what a gram of spread is worth.

    Returns
    -------
    tuple of CostStep
        The largest first.
    """
    assert page.cost is not None
    return cost_steps(
        mill, page.chosen.ball.name, page.chosen.lot_name, page.chosen.line.name,
        run_balls=page.cost.run_balls, tables=tables,
    )  # fmt: skip


def _case_words(case: CaseSize) -> str:
    sides = (case.inner_length_mm, case.inner_width_mm, case.inner_height_mm)
    return say(
        "{case}, {sides} mm inside",
        case=case.name,
        sides=" × ".join(f"{side:.0f}" for side in sides),
    )


def _of_page(one: Fault) -> Fault:
    """Name what the page has in a fault of the room, and none of the command's options."""
    if one.expected == "a [[pack.case]] or --case":
        return replace(one, expected=say("a [[pack.case]] in the mill file"))
    return replace(one, key="bag") if one.key == "--balls-per-bag" else one


def _whole(asked: Mapping[str, str], key: str, most: int, faults: list[Fault]) -> int | None:
    text = asked.get(key, "").strip()
    if not text:
        return None
    number, fault = whole_typed(key, text, most, 1)
    if fault is not None:
        faults.append(fault)
    return number


class _Held:
    """A reading of the mill as a key: two are alike while the file did not change."""

    def __init__(self, reading: Reading) -> None:
        self.number, self.mill = reading.number, reading.mill

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held) and other.mill is self.mill

    def __hash__(self) -> int:
        return hash(self.number)


@lru_cache(maxsize=64)
def _packed(held: _Held, ball: str, bag: int | None, case: CaseSize | None) -> PackAnswer:
    return pack_answer(held.mill, ball, balls_per_bag=bag, case=case)


@lru_cache(maxsize=64)
def _cost(held: _Held, ball: str, lot: str, line: str, run_balls: int | None) -> BallCost:
    mill: Mill = held.mill
    return ball_cost(mill, ball, lot, line, run_balls=run_balls)
