"""How a ball is best packed: every bag and case of the mill's beside the present habit."""

from __future__ import annotations

from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.balls import Ball
from clew.mill.model import Mill
from clew.mill.pack_rules import CaseSize
from clew.plan.packing.ball_block import BallBlock, block_of
from clew.plan.packing.case_fit import FreeCase, free_case, slotted_board_m2
from clew.plan.packing.conflict import Conflict, conflicts_of
from clew.plan.packing.cost import case_named, pack_cost, says_pallet
from clew.plan.packing.option import Option, bags_at, case_outside, inner_of, option_of
from clew.plan.sequence.timed_run import MoneyPart

MOST_BALLS_PER_BAG = 200
LONGEST_CASE_MM = 3000.0
"""A longer side of a case is a slip of the unit."""
LONGEST_PALLET_MM = 5000.0
FREE_NAME = say("made to size")


@dataclass(frozen=True, slots=True)
class Present:
    """The present habit, as the mill file states it.

    Attributes
    ----------
    balls_per_bag, bags_per_case, cases_per_pallet : int
        How many go where.
    case_name : str
        Its case; empty where none is named, and nothing can then be said of fit and lift.
    option : Option or None
        The habit worked out; None without a case.
    parts : tuple of MoneyPart
        What packing a ball costs now [money].
    conflicts : tuple of Conflict
        What of the habit cannot be, by the mill's own numbers.
    pallet_counted : bool
        Whether the pallet and its freight are in the cost, where the mill pays for them; not where
        the mill file does not say how many cases go on one.
    """

    balls_per_bag: int
    bags_per_case: int
    cases_per_pallet: int
    case_name: str
    option: Option | None
    parts: tuple[MoneyPart, ...]
    conflicts: tuple[Conflict, ...]
    pallet_counted: bool = True

    @property
    def cost(self) -> float:
        """Cost of packing one ball now [money]."""
        return sum(part.money for part in self.parts)


@dataclass(frozen=True, slots=True)
class Free:
    """A case made to size round the bags of the present habit, or of what was asked.

    Attributes
    ----------
    middle, large : FreeCase
        Round balls in the middle of what they may be, and round the largest.
    option : Option or None
        The middle one worked out; its price is not known.
    conflicts : tuple of Conflict
        Why it may not be packed so: too heavy full, or no place for it on the pallet.
    """

    middle: FreeCase
    large: FreeCase
    option: Option | None
    conflicts: tuple[Conflict, ...]


@dataclass(frozen=True, slots=True)
class PackAnswer:
    """How a ball is best packed.

    Attributes
    ----------
    ball_name, currency : str
        Which ball, in what money.
    block : BallBlock
        Its box.
    options : tuple of Option
        What can be done, cheapest first; cases without a price come last.
    present : Present
        The present habit.
    conflicts : tuple of Conflict
        Why a case that was asked for, or every case, cannot be used.
    free : Free or None
        A case made to size, where it was asked for.
    made_a_year : int
        Balls made in a year; 0 where the mill file does not say.
    """

    ball_name: str
    currency: str
    block: BallBlock
    options: tuple[Option, ...]
    present: Present
    conflicts: tuple[Conflict, ...]
    free: Free | None
    made_a_year: int

    @property
    def best(self) -> Option | None:
        """The cheapest that can be done."""
        return self.options[0] if self.options else None

    @property
    def saved_per_ball(self) -> float | None:
        """What the best saves against the present habit, a ball [money]; None without both prices.

        A habit without a case, or one that cannot be, has no cost to compare with.
        """
        best, now = self.best, self.present.option
        if best is None or now is None or not best.priced or not now.priced:
            return None
        if self.present.conflicts or not self.present.pallet_counted:
            return None
        return self.present.cost - best.cost

    @property
    def saved_a_year(self) -> float | None:
        """The same over a year's balls [money]."""
        each = self.saved_per_ball
        return None if each is None or not self.made_a_year else each * self.made_a_year


def pack_answer(
    mill: Mill,
    ball_name: str,
    *,
    balls_per_bag: int | None = None,
    case: CaseSize | None = None,
    free: bool = False,
) -> PackAnswer:
    """Work out every way to pack a ball, and which costs least.

    Parameters
    ----------
    mill : Mill
        The mill, with its cases, pallet, lift and prices.
    ball_name : str
        The ball.
    balls_per_bag : int, optional
        Only bags of so many; the mill's choices and the present number where left out.
    case : CaseSize, optional
        Only this case; all of the mill's where left out.
    free : bool
        Whether to work out a case made to size as well.

    Returns
    -------
    PackAnswer
        With no options where nothing can be packed: its conflicts say why.

    Raises
    ------
    BadInput
        When there is no such ball, the mill has no cases, the count is no count, or a case or the
        pallet is longer than any is.
    """
    ball = mill.find_ball(ball_name)
    cases = (case,) if case is not None else mill.pack.case
    faults = []
    if not cases and not free:
        faults.append(
            Fault(say("no case to pack into"), "a [[pack.case]] or --case", section="pack")
        )
    if balls_per_bag is not None and not 1 <= balls_per_bag <= MOST_BALLS_PER_BAG:
        expected = say("1 to {most}", most=MOST_BALLS_PER_BAG)
        faults.append(
            Fault(
                say("no count of balls"), expected, key="--balls-per-bag", value=str(balls_per_bag)
            )
        )
    faults += _oversized(mill, case)
    if faults:
        raise BadInput(faults)
    block = block_of(mill, ball.name)
    habit = ball.packing
    counts = (
        sorted({*mill.pack.balls_per_bag_choices, habit.balls_per_bag})
        if balls_per_bag is None
        else [balls_per_bag]
    )
    options: list[Option] = []
    conflicts: list[Conflict] = []
    for count in counts:
        for one in cases:
            found = option_of(mill, block, count, one)
            if found is None:
                conflicts += conflicts_of(mill, block, count, one)
            else:
                options.append(found)
    options.sort(key=lambda one: (not one.priced, one.cost, one.case.name, one.balls_per_bag))
    return PackAnswer(
        ball_name=ball.name,
        currency=mill.prices.currency,
        block=block,
        options=tuple(options),
        present=_present(mill, ball, block),
        conflicts=tuple(dict.fromkeys(conflicts)),
        free=_free(mill, ball, block, balls_per_bag, case) if free else None,
        made_a_year=ball.made_a_year,
    )


def _oversized(mill: Mill, case: CaseSize | None) -> list[Fault]:
    """Find sides that are a slip of the unit: filling them would take hours."""
    faults = []
    for one in (*mill.pack.case, *(() if case is None else (case,))):
        for name, side in zip(("length", "width", "height"), inner_of(one), strict=True):
            if side > LONGEST_CASE_MM:
                faults.append(
                    Fault(
                        say("longer than a case is"),
                        say("at most {most:g} mm", most=LONGEST_CASE_MM),
                        section=f'pack case "{one.name}"',
                        key=f"inner_{name}",
                        value=f"{side:g} mm",
                    )
                )
    pallet = mill.pack.pallet
    for name, side in (("length", pallet.length_mm), ("width", pallet.width_mm)):
        if side > LONGEST_PALLET_MM:
            faults.append(
                Fault(
                    say("longer than a pallet is"),
                    say("at most {most:g} mm", most=LONGEST_PALLET_MM),
                    section="pack pallet",
                    key=name,
                    value=f"{side:g} mm",
                )
            )
    return faults


def _present(mill: Mill, ball: Ball, block: BallBlock) -> Present:
    habit = ball.packing
    case = case_named(mill, habit.case)
    option: Option | None = None
    conflicts: tuple[Conflict, ...] = ()
    if case is not None:
        bags, cases = habit.bags_per_case, habit.cases_per_pallet
        option = option_of(mill, block, habit.balls_per_bag, case, bags=bags, cases=cases)
        conflicts = conflicts_of(mill, block, habit.balls_per_bag, case, bags=bags, cases=cases)
    return Present(
        balls_per_bag=habit.balls_per_bag,
        bags_per_case=habit.bags_per_case,
        cases_per_pallet=habit.cases_per_pallet,
        case_name=case.name if case is not None else "",
        option=option,
        parts=pack_cost(mill, ball.name),
        conflicts=conflicts,
        pallet_counted=says_pallet(habit)
        or not (mill.pack.pallet.price or mill.pack.pallet.freight),
    )


def _free(
    mill: Mill, ball: Ball, block: BallBlock, balls_per_bag: int | None, like: CaseSize | None
) -> Free:
    """Make a case to size for the bags of the habit, of the board of its case or the one asked."""
    count = balls_per_bag or ball.packing.balls_per_bag
    bags = ball.packing.bags_per_case
    like = like or case_named(mill, ball.packing.case)
    default = CaseSize.model_fields["board_mm"].default
    board = like.board_mm if like is not None else float(default)
    middle, large = (
        free_case(bags_at(mill, block, count, level), bags, board) for level in ("middle", "high")
    )
    length, width, height = middle.inner_mm
    made = CaseSize.model_construct(
        name=FREE_NAME,
        inner_length_mm=length,
        inner_width_mm=width,
        inner_height_mm=height,
        board_mm=board,
        tare_mass_g=_tare_g(like, middle),
        price=0.0,
        most_mass_g=None,
    )
    return Free(
        middle,
        large,
        option_of(mill, block, count, made, bags=bags),
        conflicts_of(mill, block, count, made, bags=bags),
    )


def _tare_g(like: CaseSize | None, made: FreeCase) -> float:
    """Weigh a case made to size by its area of board, of the board of a case that is known."""
    if like is None:
        return float(CaseSize.model_fields["tare_mass_g"].default)
    return like.tare_mass_g * made.board_m2 / slotted_board_m2(case_outside(like))
