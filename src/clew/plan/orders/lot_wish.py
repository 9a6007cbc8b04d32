"""What an order wants of dye lots, what it can have of what is left, and a plan by best fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

MOST_LOTS = 4
"""Most dye lots in one order."""
MOST_TRIED = 10
"""Of so many lots, the fullest, it is tried in every way which share cases."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One order's wish for dye lots.

    Attributes
    ----------
    balls : int
        First-quality balls.
    balls_per_bag, bags_per_case : int
        How they are packed.
    one_lot : bool
        Whether the whole order must be of one lot.
    shares_cases : bool
        Whether lots of like shade may share a case.
    gives : tuple of tuple of tuple of int
        By lot and by number of lots in the order (from 1), the first-quality balls that 0, 1, 2,
        ... cones give as surely as they must.
    """

    balls: int
    balls_per_bag: int
    bags_per_case: int
    one_lot: bool
    shares_cases: bool
    gives: tuple[tuple[tuple[int, ...], ...], ...]

    @property
    def bags(self) -> int:
        """Bags, the last one perhaps short."""
        return -(-self.balls // self.balls_per_bag)

    @property
    def short(self) -> int:
        """Balls that the last bag lacks."""
        return self.bags * self.balls_per_bag - self.balls

    @property
    def balls_per_case(self) -> int:
        """Balls in a full case."""
        return self.balls_per_bag * self.bags_per_case


@dataclass(frozen=True, slots=True)
class Share:
    """What one lot gives to one order.

    Attributes
    ----------
    lot : int
        Which lot.
    balls, cones : int
        First-quality balls from it, and cones of it.
    """

    lot: int
    balls: int
    cones: int


@dataclass(frozen=True, slots=True)
class Allotment:
    """Cones allotted to orders.

    Attributes
    ----------
    shares : tuple of tuple of Share
        By order, what it gets; nothing where it cannot be met.
    proven : bool
        Whether every step of the search came to its end: nothing better is there.
    """

    shares: tuple[tuple[Share, ...], ...]
    proven: bool

    def left(self, stock: Sequence[int]) -> tuple[int, ...]:
        """Cones left of each lot."""
        taken = [0] * len(stock)
        for shares in self.shares:
            for share in shares:
                taken[share.lot] += share.cones
        return tuple(have - took for have, took in zip(stock, taken, strict=True))


def more_cones(
    wish: Wish, left: Sequence[int], alike: Sequence[Sequence[bool]], lot: int
) -> int | None:
    """Fewest more cones of one lot with which the order can be met; None where no number is."""

    def given(more: int) -> int:
        with_more = [have + more * (place == lot) for place, have in enumerate(left)]
        return most_from(wish, with_more, alike)

    low, high = -1, len(wish.gives[lot][0]) - 1 - left[lot]
    if given(high) < wish.balls:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if given(middle) >= wish.balls else (middle, high)
    return high


def fewest(gives: Sequence[int], balls: int) -> int | None:
    """Fewest cones that give so many balls; None where not even all do."""
    return next((cones for cones, most in enumerate(gives) if most >= balls), None)


def most_from(wish: Wish, left: Sequence[int], alike: Sequence[Sequence[bool]]) -> int:
    """Most first-quality balls an order could have of the cones left, under its own rule.

    Parameters
    ----------
    wish : Wish
        The order.
    left : sequence of int
        Cones left of each lot.
    alike : sequence of sequence of bool
        By lot and lot, whether they may lie in one case.

    Returns
    -------
    int
        Balls, at most those wished for.

    Notes
    -----
    Of several lots each gives whole cases, but those that are all alike may give whole bags; only
    the one with the most beyond its cases or bags gives those too. Which lots share cases is tried
    in every way, among the fullest `MOST_TRIED`; with more lots the true number may be above.
    """
    best = 0
    lots = range(len(left))
    first = sorted(lots, key=lambda lot: -wish.gives[lot][0][left[lot]])[:MOST_TRIED]
    sharing = _sharing(wish, sorted(first), alike)
    for many in range(1, 1 + (1 if wish.one_lot else min(len(left), MOST_LOTS))):
        gives = [wish.gives[lot][many - 1][left[lot]] for lot in lots]
        fullest = sorted(lots, key=gives.__getitem__, reverse=True)
        for group in sharing:
            if len(group) <= many:
                others = [lot for lot in fullest if lot not in group][: many - len(group)]
                best = max(best, _from_these(wish, gives, group, others))
    return min(best, wish.balls)


def _sharing(
    wish: Wish, lots: Sequence[int], alike: Sequence[Sequence[bool]]
) -> list[tuple[int, ...]]:
    """List the groups of lots that may share cases: none, or two and more that are all alike."""
    groups: list[tuple[int, ...]] = [()]
    if not wish.shares_cases or wish.one_lot:
        return groups
    grown: list[tuple[int, ...]] = [(lot,) for lot in lots]
    while grown and len(grown[0]) < MOST_LOTS:
        grown = [
            (*group, lot)
            for group in grown
            for lot in lots
            if lot > group[-1] and all(alike[lot][one] for one in group)
        ]
        groups += grown
    return groups


def _from_these(
    wish: Wish, gives: Sequence[int], group: Sequence[int], others: Sequence[int]
) -> int:
    """Most balls from a group of lots that share cases, and others in cases of their own."""
    case, bag = wish.balls_per_case, wish.balls_per_bag
    balls = sum(gives[lot] // bag * bag for lot in group)
    balls += sum(gives[lot] // case * case for lot in others)
    beyond = [gives[lot] % bag for lot in group]
    if not group:
        beyond = [gives[lot] % case for lot in others]
    return balls + max(beyond, default=0)


def best_fit(
    stock: Sequence[int], wishes: Sequence[Wish], alike: Sequence[Sequence[bool]]
) -> tuple[tuple[Share, ...], ...]:
    """Give each order in turn the lot that suffices with least left over, or the fullest lots.

    Parameters
    ----------
    stock : sequence of int
        Cones of each lot.
    wishes : sequence of Wish
        The orders, the one that comes first first.
    alike : sequence of sequence of bool
        By lot and lot, whether they may lie in one case.

    Returns
    -------
    tuple of tuple of Share
        By order, what it gets; a plan within the rules, not the best there is.
    """
    left = list(stock)
    plan = []
    for wish in wishes:
        shares = _whole(wish, left) or _parted(wish, left, alike)
        for share in shares:
            left[share.lot] -= share.cones
        plan.append(shares)
    return tuple(plan)


def _whole(wish: Wish, left: Sequence[int]) -> tuple[Share, ...]:
    fits = [
        (have - cones, lot, cones)
        for lot, have in enumerate(left)
        if (cones := fewest(wish.gives[lot][0], wish.balls)) is not None and cones <= have
    ]
    return tuple(Share(lot, wish.balls, cones) for _, lot, cones in sorted(fits)[:1])


def _parted(wish: Wish, left: Sequence[int], alike: Sequence[Sequence[bool]]) -> tuple[Share, ...]:
    lots = range(len(left))
    for many in range(2, 1 if wish.one_lot else min(len(left), MOST_LOTS) + 1):
        gives = {lot: wish.gives[lot][many - 1][left[lot]] for lot in lots}
        chosen = sorted(lots, key=gives.__getitem__, reverse=True)[:many]
        together = wish.shares_cases and all(
            alike[one][other] for one in chosen for other in chosen if one != other
        )
        unit = wish.balls_per_bag if together else wish.balls_per_case
        last = max(chosen, key=lambda lot: gives[lot] % unit)
        wanted = wish.balls
        balls = {}
        for lot in (*(one for one in chosen if one != last), last):
            most = gives[lot] if lot == last else min(gives[lot], wanted - 1) // unit * unit
            balls[lot] = min(most, wanted)
            wanted -= balls[lot]
        if wanted == 0 and all(balls.values()):
            return tuple(
                Share(lot, balls[lot], fewest(wish.gives[lot][many - 1], balls[lot]) or 0)
                for lot in sorted(balls)
            )
    return ()
