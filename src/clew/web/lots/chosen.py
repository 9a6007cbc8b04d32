"""What Lots is asked about: a ball and its dye lot, and the rule sets that the lot is judged by."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from clew.checks.packages.ball_terms import ball_terms
from clew.checks.packages.rule_sets import RULE_SETS
from clew.faults import Fault
from clew.languages import say
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.lots import Colour, DyeLot
from clew.mill.model import Mill
from clew.web.asked.chosen import NO_LOT, Choice, Choices
from clew.web.lots.inputs import said


@dataclass(frozen=True, slots=True)
class ChosenLot:
    """A ball, its dye lot and the line it was wound on.

    Attributes
    ----------
    ball : Ball
        The ball.
    dye_lot, colour : DyeLot or None, Colour or None
        The dye lot; none where all balls of a file are one lot.
    line : Line
        The line.
    offers : tuple of Choices
        What can be chosen, in the order of the form.
    """

    ball: Ball
    dye_lot: DyeLot | None
    colour: Colour | None
    line: Line
    offers: tuple[Choices, ...]

    @property
    def lot_name(self) -> str:
        """Name of the dye lot; empty without one."""
        return "" if self.dye_lot is None else self.dye_lot.lot

    @property
    def subject(self) -> str:
        """What was chosen, in words."""
        if self.dye_lot is None or self.colour is None:
            return say("{ball}, no dye lot named", ball=self.ball.name)
        return f"{self.ball.name}, {self.dye_lot.lot} {self.colour.name}"

    @property
    def address(self) -> dict[str, str]:
        """What was chosen, as the address says it."""
        return {one.key: one.value for one in self.offers}

    @property
    def query(self) -> str:
        """The same, written out for a link."""
        return urlencode(self.address)


@dataclass(frozen=True, slots=True)
class RuleChoice:
    """A rule set that the lot may be judged by."""

    key: str
    title: str
    market: str
    whose: str
    chosen: bool


def choose_lot(
    mill: Mill, asked: Mapping[str, str], first: Callable[[Sequence[Choice]], str]
) -> tuple[ChosenLot, tuple[Fault, ...]]:
    """Find the ball, the dye lot and the line that the page is asked about.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says: ``ball``, ``lot`` and ``line``.
    first : function of sequence of Choice
        Which of a ball's dye lots is meant where none is named.

    Returns
    -------
    ChosenLot
        What was chosen.
    tuple of Fault
        A dye lot of another yarn than the ball's.

    Raises
    ------
    BadInput
        When one of them is not in the mill file.
    """
    ball = mill.find_ball(said(asked, "ball") or mill.ball[0].name)
    line = mill.find_line(said(asked, "line") or mill.line[0].name)
    lots = [
        Choice(lot.lot, f"{lot.lot} {colour.name}")
        for colour in mill.colour
        for lot in colour.dye_lot
        if lot.yarn == ball.yarn
    ]
    value = said(asked, "lot") or first(lots)
    colour, dye_lot = (None, None) if value == NO_LOT else mill.find_dye_lot(value)
    faults: tuple[Fault, ...] = ()
    if dye_lot is not None and dye_lot.yarn != ball.yarn:
        what = say(
            "{lot} is of {yarn}, and {ball} is of {own_yarn}",
            lot=dye_lot.lot,
            yarn=dye_lot.yarn,
            ball=ball.name,
            own_yarn=ball.yarn,
        )
        faults = (Fault(what, say("a dye lot of the ball's yarn"), key="lot"),)
    lots.append(Choice(NO_LOT, say("no dye lot: all balls of the file")))
    balls = tuple(Choice(one.name, one.name) for one in mill.ball)
    offers = [
        Choices("ball", say("Ball"), balls, ball.name),
        Choices("lot", say("Dye lot"), tuple(lots), value if dye_lot is None else dye_lot.lot),
    ]
    if len(mill.line) > 1:
        lines = tuple(Choice(one.name, one.name) for one in mill.line)
        offers.append(Choices("line", say("Line"), lines, line.name))
    return ChosenLot(ball, dye_lot, colour, line, tuple(offers)), faults


def choose_rules(
    mill: Mill, ball: Ball, asked: Sequence[str]
) -> tuple[tuple[RuleChoice, ...], tuple[Fault, ...]]:
    """List the rule sets, the ball's own first, with those that were chosen.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball : Ball
        The ball.
    asked : sequence of str
        Keys, each entry one or several parted by commas; empty takes the ball's own and those of
        its other markets.

    Returns
    -------
    tuple of RuleChoice
        Every rule set.
    tuple of Fault
        Keys that are of none, and a ball that has none.
    """
    terms = ball_terms(mill, ball.name)
    own = list(dict.fromkeys(one for one in (terms.rule, *terms.other_rules) if one))
    wanted = [part.strip() for text in asked for part in text.split(",") if part.strip()]
    expected = say("one of {names}", names=", ".join(RULE_SETS))
    faults = [
        Fault(say("no such rule set"), expected, key="rule", value=repr(key)[:60])
        for key in wanted
        if key not in RULE_SETS
    ]
    chosen = wanted or own
    if not chosen:
        faults.append(
            Fault(say("no rule set; the ball has none in the mill file"), expected, key="rule")
        )
    whose = dict.fromkeys(terms.other_rules, say("also sold there"))
    whose |= {terms.rule: say("this ball’s own")}
    rules = {str(key): rule for key, rule in RULE_SETS.items()}
    order = [*own, *(key for key in rules if key not in own)]
    return tuple(
        RuleChoice(key, rules[key].title, rules[key].market, whose.get(key, ""), key in chosen)
        for key in order
    ), tuple(faults)
