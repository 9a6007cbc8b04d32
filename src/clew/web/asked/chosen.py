"""What a page is asked about: a ball, its dye lot and, on most pages, the line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import quote, urlencode

from clew.languages import joined, say
from clew.mill.balls import Ball
from clew.mill.fields import Section
from clew.mill.lines import Line
from clew.mill.lots import Colour, DyeLot
from clew.mill.model import Mill
from clew.mill.yarns import Yarn

NO_LOT = "none"
"""What the address says in place of a dye lot when the yarn is to be taken as spun."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of what can be chosen."""

    value: str
    words: str


@dataclass(frozen=True, slots=True)
class Choices:
    """What can be chosen of one kind, and what was.

    Attributes
    ----------
    key : str
        Its name in the address.
    words : str
        Label.
    choices : tuple of Choice
        What can be chosen.
    value : str
        What was, as the address says it.
    """

    key: str
    words: str
    choices: tuple[Choice, ...]
    value: str


@dataclass(frozen=True, slots=True)
class ChosenBall:
    """A ball and what it is made of.

    Attributes
    ----------
    ball, yarn : Ball, Yarn
        What was chosen; a page that tries values puts them in place.
    dye_lot, colour : DyeLot or None, Colour or None
        The dye lot and its colourway; none for the yarn as spun.
    offers : tuple of Choices
        What can be chosen, in the order of the form.
    """

    ball: Ball
    yarn: Yarn
    dye_lot: DyeLot | None
    colour: Colour | None
    offers: tuple[Choices, ...]

    @property
    def lot_name(self) -> str:
        """Name of the dye lot; empty for the yarn as spun."""
        return "" if self.dye_lot is None else self.dye_lot.lot

    @property
    def lot_words(self) -> str:
        """The dye lot with its colourway, or the yarn as spun."""
        if self.dye_lot is None or self.colour is None:
            return say("{yarn} as spun", yarn=self.yarn.name)
        return f"{self.dye_lot.lot} {self.colour.name}"

    @property
    def subject(self) -> str:
        """What was chosen, in words."""
        return joined(", ", (self.ball.name, self.lot_words))

    @property
    def address(self) -> dict[str, str]:
        """What was chosen, as the address says it."""
        return {one.key: one.value for one in self.offers}

    @property
    def query(self) -> str:
        """The same, written out for a link."""
        return urlencode(self.address, safe="/", quote_via=quote)


@dataclass(frozen=True, slots=True)
class Chosen(ChosenBall):
    """A ball on a line.

    Attributes
    ----------
    line : Line
        The line.
    """

    line: Line

    @property
    def subject(self) -> str:
        """What was chosen, in words."""
        return joined(", ", (self.ball.name, self.lot_words, self.line.name))


def choose_ball(mill: Mill, asked: Mapping[str, str]) -> ChosenBall:
    """Find the ball and the dye lot that a page is asked about.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says: ``ball`` and ``lot``. What it leaves out is the first that fits.

    Returns
    -------
    ChosenBall
        What was chosen. The dye lot may be of another yarn than the ball's.

    Raises
    ------
    BadInput
        When one of them is not in the mill file.
    """
    ball = mill.find_ball(_said(asked, "ball") or mill.ball[0].name)
    yarn, dye_lot, colour, lots = _made_of(mill, ball, asked)
    offers = (_by_name("ball", say("Ball"), mill.ball, ball), lots)
    return ChosenBall(ball, yarn, dye_lot, colour, offers)


def choose(mill: Mill, asked: Mapping[str, str]) -> Chosen:
    """Find the ball, the dye lot and the line that a page is asked about.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says: ``ball``, ``lot`` and ``line``. What it leaves out is the first that
        fits.

    Returns
    -------
    Chosen
        What was chosen. The dye lot may be of another yarn than the ball's.

    Raises
    ------
    BadInput
        When one of them is not in the mill file.
    """
    ball = mill.find_ball(_said(asked, "ball") or mill.ball[0].name)
    line = mill.find_line(_said(asked, "line") or mill.line[0].name)
    yarn, dye_lot, colour, lots = _made_of(mill, ball, asked)
    balls = _by_name("ball", say("Ball"), mill.ball, ball)
    lines = _by_name("line", say("Line"), mill.line, line)
    return Chosen(ball, yarn, dye_lot, colour, (balls, lots, lines), line)


def lots_for(mill: Mill, yarn_name: str) -> tuple[Choice, ...]:
    """List the dye lots of a yarn, and the yarn without one at the end.

    Parameters
    ----------
    mill : Mill
        The mill.
    yarn_name : str
        Name of the yarn.

    Returns
    -------
    tuple of Choice
        In the order of the mill file.
    """
    fitting = tuple(
        Choice(lot.lot, f"{lot.lot} {colour.name}")
        for colour in mill.colour
        for lot in colour.dye_lot
        if lot.yarn == yarn_name
    )
    return (*fitting, Choice(NO_LOT, say("{yarn} as spun, no dye lot", yarn=yarn_name)))


def mill_with(mill: Mill, **tried: tuple[Section, Section]) -> Mill:
    """Put what was tried in the place of what was chosen.

    Parameters
    ----------
    mill : Mill
        The mill.
    **tried : tuple of Section, Section
        For a kind, such as ``ball``, what the mill file has and what stands for it.

    Returns
    -------
    Mill
        The mill with all of them in place.
    """
    update = {
        kind: tuple(new if one is own else one for one in getattr(mill, kind))
        for kind, (own, new) in tried.items()
    }
    return mill.model_copy(update=update)


def _said(asked: Mapping[str, str], key: str) -> str:
    return asked.get(key, "").strip()


def _made_of(
    mill: Mill, ball: Ball, asked: Mapping[str, str]
) -> tuple[Yarn, DyeLot | None, Colour | None, Choices]:
    lots = lots_for(mill, ball.yarn)
    value = _said(asked, "lot") or lots[0].value
    colour, dye_lot = (None, None) if value == NO_LOT else mill.find_dye_lot(value)
    return mill.find_yarn(ball.yarn), dye_lot, colour, Choices("lot", say("Dye lot"), lots, value)


def _by_name(key: str, words: str, there: Iterable[Ball | Line], chosen: Ball | Line) -> Choices:
    return Choices(key, words, tuple(Choice(one.name, one.name) for one in there), chosen.name)
