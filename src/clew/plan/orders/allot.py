"""Which order gets how many cones of which dye lot: an exact search over whole cones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clew.plan.orders.lot_wish import (
    MOST_LOTS,
    MOST_TRIED,
    Allotment,
    Share,
    Wish,
    best_fit,
    fewest,
    most_from,
)

EFFORT, EFFORT_ONCE, EFFORT_LEFT = 0.8, 0.2, 0.1
"""What the search of a yarn and colour may cost, one step of it, and the last one, which is about
left-overs only; in CP-SAT's own time that is the same on every machine."""


def allot(
    stock: Sequence[int],
    wishes: Sequence[Wish],
    alike: Sequence[Sequence[bool]],
    *,
    seed: int = 1,
) -> Allotment:
    """Allot the cones of one yarn in one colour.

    Parameters
    ----------
    stock : sequence of int
        Cones of each lot.
    wishes : sequence of Wish
        The orders, the one that comes first first.
    alike : sequence of sequence of bool
        By lot and lot, whether they may lie in one case.
    seed : int
        Seed of the search.

    Returns
    -------
    Allotment
        What each order gets.

    Notes
    -----
    Source: DERIVED. Three aims, each kept when the next is looked at: (1) an order is met
    whenever that gives up none before it; (2) as few dye lots in orders as can be; (3) left-overs
    together rather than scattered: the sum of the squares of the cones left is as large as can be.
    Solved as whole-number programs by OR-Tools CP-SAT, which begins from `best_fit`.
    """
    if not wishes:
        return Allotment((), proven=True)
    search = _Search(stock, wishes, alike, seed)
    plan = best_fit(stock, wishes, alike)
    if not search.begin_with(plan):  # too large to search at all
        return Allotment(plan, proven=False)
    search.meet_in_turn()
    search.fewest_lots()
    search.left_together()
    return Allotment(search.shares(), search.proven)


class _Search:
    """The program, its aims one after the other."""

    def __init__(
        self,
        stock: Sequence[int],
        wishes: Sequence[Wish],
        alike: Sequence[Sequence[bool]],
        seed: int,
    ) -> None:
        from ortools.sat.python import cp_model

        self.cp: Any = cp_model
        self.stock, self.wishes, self.alike, self.seed = stock, wishes, alike, seed
        self.model: Any = cp_model.CpModel()
        self.proven = True
        self.met: list[Any] = []
        self.whole: dict[tuple[int, int], Any] = {}
        self.used: dict[tuple[int, int], Any] = {}
        self.balls: dict[tuple[int, int], Any] = {}
        self.parted_cones: dict[tuple[int, int], Any] = {}
        self.values: dict[int, int] = {}
        self.effort = EFFORT
        for place, wish in enumerate(wishes):
            self._order(place, wish)
        self.remaining = []
        for lot, have in enumerate(stock):
            remaining = self.model.new_int_var(0, have, f"left {lot}")
            taken = sum(self._cones(place, lot) for place in range(len(wishes)))
            self.model.add(remaining == have - taken)
            self.remaining.append(remaining)

    def _cones(self, place: int, lot: int) -> Any:
        """Cones that an order takes of a lot."""
        cones = self.parted_cones.get((place, lot), 0)
        if (place, lot) in self.whole:
            fit = fewest(self.wishes[place].gives[lot][0], self.wishes[place].balls)
            cones += self.whole[place, lot] * fit
        return cones

    def _order(self, place: int, wish: Wish) -> None:
        """An order is met wholly from one lot, of so many cones, or in parts from several."""
        model, lots = self.model, range(len(self.stock))
        met = model.new_bool_var(f"met {place}")
        self.met.append(met)
        for lot in lots:
            cones = fewest(wish.gives[lot][0], wish.balls)
            if cones is not None and cones <= self.stock[lot]:
                self.whole[place, lot] = model.new_bool_var(f"{place} whole from {lot}")
        ways = [self.whole[place, lot] for lot in lots if (place, lot) in self.whole]
        most = 1 if wish.one_lot else min(len(self.stock), MOST_LOTS)
        several = {many: model.new_bool_var(f"{place} of {many}") for many in range(2, most + 1)}
        model.add(sum(ways) + sum(several.values()) == met)
        if several:
            self._parts(place, wish, several)

    def _parts(self, place: int, wish: Wish, several: Mapping[int, Any]) -> None:
        model, lots = self.model, range(len(self.stock))
        parted = sum(several.values())
        bags, split, short = {}, {}, {}
        for lot in lots:
            name = f"{place} from {lot}"
            used = self.used[place, lot] = model.new_bool_var(name)
            cones = model.new_int_var(0, self.stock[lot], f"cones {name}")
            self.parted_cones[place, lot] = cones
            bags[lot] = model.new_int_var(0, wish.bags, f"bags {name}")
            cases = model.new_int_var(0, wish.bags // wish.bags_per_case, f"cases {name}")
            loose = model.new_int_var(0, wish.bags_per_case - 1, f"loose {name}")
            split[lot] = model.new_bool_var(f"split {name}")
            short[lot] = model.new_bool_var(f"short {name}")
            model.add(bags[lot] == cases * wish.bags_per_case + loose)
            model.add(loose <= (wish.bags_per_case - 1) * split[lot])
            model.add(bags[lot] <= wish.bags * used)
            model.add(bags[lot] >= used)
            model.add(cones <= self.stock[lot] * used)
            model.add_implication(short[lot], used)
            balls = self.balls[place, lot] = model.new_int_var(0, wish.balls, f"balls {name}")
            model.add(balls == wish.balls_per_bag * bags[lot] - wish.short * short[lot])
            if wish.short:
                model.add_implication(short[lot], split[lot])
            slope, lost = _line_above(wish.gives[lot][1][: self.stock[lot] + 1])
            model.add(1000 * balls <= slope * cones - lost * used)
            for many, so_many in several.items():
                table = [int(one) for one in wish.gives[lot][many - 1][: self.stock[lot] + 1]]
                gives = model.new_int_var(0, max(*table, 0, 1), f"gives {name} {many}")
                model.add_element(cones, table, gives)
                model.add(balls <= gives).only_enforce_if(so_many)
        model.add(sum(self.used[place, lot] for lot in lots) == sum(
            many * so_many for many, so_many in several.items()
        ))  # fmt: skip
        model.add(sum(bags.values()) == wish.bags * parted)
        model.add(sum(short.values()) == parted)
        for one in lots:
            for other in range(one):
                if not (wish.shares_cases and self.alike[one][other]):
                    model.add(split[one] + split[other] <= 1)

    def _solve(self, model: Any = None, once: float = EFFORT_ONCE) -> bool:
        if self.effort <= 0.0:
            self.proven = False
            return False
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = self.seed % 2**31
        # the plan at hand is near the best: preparing the program would take most of the time
        solver.parameters.cp_model_probing_level = 0
        solver.parameters.symmetry_level = 0
        solver.parameters.max_presolve_iterations = 1
        solver.parameters.max_deterministic_time = min(self.effort, once)
        status = solver.solve(self.model if model is None else model)
        self.effort -= float(solver.response_proto.deterministic_time)
        found = status in (self.cp.OPTIMAL, self.cp.FEASIBLE)
        if status not in (self.cp.OPTIMAL, self.cp.INFEASIBLE):
            self.proven = False
        if found:
            self.model.clear_hints()
            for place in range(len(self.model.proto.variables)):
                variable = self.model.get_int_var_from_proto_index(place)
                self.values[place] = solver.value(variable)
                self.model.add_hint(variable, self.values[place])
        return found

    def _value(self, variable: Any) -> int:
        return self.values[variable.index]

    def begin_with(self, plan: Sequence[Sequence[Share]]) -> bool:
        """Take a plan to begin from."""
        model = self.model.clone()
        for place, shares in enumerate(plan):
            given = {share.lot: share for share in shares}
            for lot in range(len(self.stock)):
                here = lot in given
                if (place, lot) in self.whole:
                    model.add(self.whole[place, lot] == int(here and len(shares) == 1))
                if (place, lot) in self.used:
                    part = given[lot] if here and len(shares) > 1 else Share(lot, 0, 0)
                    model.add(self.parted_cones[place, lot] == part.cones)
                    model.add(self.balls[place, lot] == part.balls)
        return self._solve(model)

    def meet_in_turn(self) -> None:
        """Meet each order in turn, if that gives up none before it."""
        for wish, met in zip(self.wishes, self.met, strict=True):
            if self._value(met):
                # the last plan found has it, and all before it
                self.model.add(met == 1)
                continue
            # perhaps not even with all the stock to itself
            found = (
                len(self.stock) > MOST_TRIED
                or most_from(wish, self.stock, self.alike) >= wish.balls
            )
            if found:
                self.model.add_assumption(met)
                found = self._solve()
                self.model.clear_assumptions()
            self.model.add(met == int(found))

    def fewest_lots(self) -> None:
        """Then part orders among as few lots as can be."""
        every = [*self.whole.values(), *self.used.values()]
        now = sum(self._value(one) for one in every)
        alone = {place for place, _ in self.whole}
        least = sum(
            1 if place in alone else 2
            for place, met in enumerate(self.met)
            if self._value(met)
        )  # fmt: skip
        if now > least:
            self.model.minimize(sum(every))
            if self._solve():
                now = sum(self._value(one) for one in every)
        self.model.add(sum(every) <= now)
        if now == sum(self._value(met) for met in self.met):
            # no order may be parted: said outright, or the search would find out again
            for one in self.used.values():
                self.model.add(one == 0)

    def left_together(self) -> None:
        """Then keep left-overs together."""
        squares = []
        for lot, have in enumerate(self.stock):
            square = self.model.new_int_var(0, have * have, f"square {lot}")
            self.model.add_multiplication_equality(
                square, [self.remaining[lot], self.remaining[lot]]
            )
            self.model.add_hint(square, self._value(self.remaining[lot]) ** 2)
            squares.append(square)
        self.model.maximize(sum(squares))
        self._solve(once=EFFORT_LEFT)

    def shares(self) -> tuple[tuple[Share, ...], ...]:
        """Read off what each order gets, no cone more than it needs."""
        found = []
        for place, wish in enumerate(self.wishes):
            balls = {
                lot: wish.balls for lot in range(len(self.stock))
                if (place, lot) in self.whole and self._value(self.whole[place, lot])
            } or {
                lot: self._value(self.balls[place, lot]) for lot in range(len(self.stock))
                if (place, lot) in self.used and self._value(self.used[place, lot])
            }  # fmt: skip
            found.append(
                tuple(
                    Share(lot, number, fewest(wish.gives[lot][len(balls) - 1], number) or 0)
                    for lot, number in balls.items()
                )
            )
        return tuple(found)


def _line_above(gives: Sequence[int]) -> tuple[int, int]:
    """A line on or above the balls that cones give, from one cone on, in thousandths of a ball.

    It is implied by the table, and lets the search see at once that cones are short.
    """
    if len(gives) < 2:
        return 0, 0
    slope = -(-1000 * (gives[-1] - gives[1]) // max(len(gives) - 2, 1))
    return slope, min(slope * n - 1000 * most for n, most in enumerate(gives) if n)
