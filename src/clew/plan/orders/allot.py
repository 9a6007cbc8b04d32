"""Which order gets how many cones of which dye lot: an exact search over whole cones."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clew.plan.orders.lot_wish import MOST_LOTS, Allotment, Share, Wish, best_fit, fewest

EFFORT, EFFORT_ONCE = 0.8, 0.2
"""What the search of a yarn and colour may cost, and one step of it, in CP-SAT's own time that is
the same on every machine."""


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
        self.used: dict[tuple[int, int], Any] = {}
        self.bags: dict[tuple[int, int], Any] = {}
        self.balls: dict[tuple[int, int], Any] = {}
        self.cones: dict[tuple[int, int], Any] = {}
        self.values: dict[int, int] = {}
        self.effort = EFFORT
        for place, wish in enumerate(wishes):
            self._order(place, wish)
        self.remaining = []
        for lot, have in enumerate(stock):
            remaining = self.model.new_int_var(0, have, f"left {lot}")
            taken = sum(self.cones[place, lot] for place in range(len(wishes)))
            self.model.add(remaining == have - taken)
            self.remaining.append(remaining)

    def _order(self, place: int, wish: Wish) -> None:
        model, lots = self.model, range(len(self.stock))
        met = model.new_bool_var(f"met {place}")
        self.met.append(met)
        most = 1 if wish.one_lot else min(len(self.stock), MOST_LOTS)
        several = [model.new_bool_var(f"{place} of {many + 1}") for many in range(most)]
        model.add(sum(several) == met)
        split = {}
        short = {}
        for lot in lots:
            name = f"{place} from {lot}"
            used = self.used[place, lot] = model.new_bool_var(name)
            cones = self.cones[place, lot] = model.new_int_var(0, self.stock[lot], f"cones {name}")
            bags = self.bags[place, lot] = model.new_int_var(0, wish.bags, f"bags {name}")
            cases = model.new_int_var(0, wish.bags // wish.bags_per_case, f"cases {name}")
            loose = model.new_int_var(0, wish.bags_per_case - 1, f"loose {name}")
            split[lot] = model.new_bool_var(f"split {name}")
            short[lot] = model.new_bool_var(f"short {name}")
            model.add(bags == cases * wish.bags_per_case + loose)
            model.add(loose <= (wish.bags_per_case - 1) * split[lot])
            model.add(bags <= wish.bags * used)
            model.add(bags >= used)
            model.add(cones <= self.stock[lot] * used)
            model.add_implication(short[lot], used)
            balls = self.balls[place, lot] = model.new_int_var(0, wish.balls, f"balls {name}")
            model.add(balls == wish.balls_per_bag * bags - wish.short * short[lot])
            if wish.short:
                model.add_implication(short[lot], split[lot])
            slope, lost = _line_above(wish.gives[lot][0][: self.stock[lot] + 1])
            model.add(1000 * balls <= slope * cones - lost * used)
            for many in range(most):
                table = [int(one) for one in wish.gives[lot][many][: self.stock[lot] + 1]]
                gives = model.new_int_var(0, max(*table, 0, 1), f"gives {name} {many}")
                model.add_element(cones, table, gives)
                model.add(balls <= gives).only_enforce_if(several[many])
        model.add(sum(self.used[place, lot] for lot in lots) == sum(
            (many + 1) * one for many, one in enumerate(several)
        ))  # fmt: skip
        model.add(sum(self.bags[place, lot] for lot in lots) == wish.bags * met)
        model.add(sum(short[lot] for lot in lots) == met)
        for one in lots:
            for other in range(one):
                if not (wish.shares_cases and self.alike[one][other]):
                    model.add(split[one] + split[other] <= 1)

    def _solve(self, model: Any = None) -> bool:
        if self.effort <= 0.0:
            self.proven = False
            return False
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = self.seed % 2**31
        solver.parameters.max_deterministic_time = min(self.effort, EFFORT_ONCE)
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
                share = given.get(lot, Share(lot, 0, 0))
                model.add(self.cones[place, lot] == share.cones)
                model.add(self.balls[place, lot] == share.balls)
        return self._solve(model)

    def meet_in_turn(self) -> None:
        """Meet each order in turn, if that gives up none before it."""
        self.model.maximize(sum(self.met))
        for met in self.met:
            if self.values and self._value(met):
                # the last plan found has it, and all before it
                self.model.add(met == 1)
                continue
            self.model.add_assumption(met)
            found = self._solve()
            self.model.clear_assumptions()
            self.model.add(met == int(found))
        self.model.clear_objective()

    def fewest_lots(self) -> None:
        """Then part orders among as few lots as can be."""
        uses = sum(self.used.values())
        self.model.minimize(uses)
        if self._solve():
            self.model.add(uses <= sum(self._value(one) for one in self.used.values()))

    def left_together(self) -> None:
        """Then keep left-overs together."""
        squares = []
        for lot, have in enumerate(self.stock):
            square = self.model.new_int_var(0, have * have, f"square {lot}")
            self.model.add_multiplication_equality(
                square, [self.remaining[lot], self.remaining[lot]]
            )
            squares.append(square)
        self.model.maximize(sum(squares))
        self._solve()

    def shares(self) -> tuple[tuple[Share, ...], ...]:
        """Read off what each order gets, no cone more than it needs."""
        found = []
        for place, wish in enumerate(self.wishes):
            lots = [
                lot for lot in range(len(self.stock))
                if self.values and self._value(self.used[place, lot])
            ]  # fmt: skip
            found.append(
                tuple(
                    Share(lot, balls, fewest(wish.gives[lot][len(lots) - 1], balls) or 0)
                    for lot in lots
                    for balls in (self._value(self.balls[place, lot]),)
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
