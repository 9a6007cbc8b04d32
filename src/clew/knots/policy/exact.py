"""The exact best policy of a small model: a strand of cells, a belt of bits."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.policy.average import MOST_STATES, AverageReward, Decisions, best_average

MOST_LOOK_AHEAD = 10_000
WIND, PART = 0, 1


@dataclass(frozen=True, slots=True)
class BeltModel:
    """A strand of cells, each with a join or none, wound into balls of whole cells.

    Attributes
    ----------
    ball_cells : int
        Cells of a ball.
    limit : int
        Most joins in a first-quality ball.
    min_piece_cells : int
        Least cells without a join before, between and after the joins of a first-quality ball.
    look_ahead_cells : int
        Cells on the belt before the winder whose joins are known.
    join_chance : float
        Chance that a cell is a join [1], each for itself.
    first, second : float
        Price of a ball of either grade [money/ball].
    waste_per_cell : float
        Handling of a dropped cell [money].
    parting : float
        Cost of a parting [money].
    """

    ball_cells: int
    limit: int
    min_piece_cells: int
    look_ahead_cells: int
    join_chance: float
    first: float
    second: float
    waste_per_cell: float = 0.0
    parting: float = 0.0


@dataclass(frozen=True, slots=True)
class Contents:
    """What a ball in the making may hold, as numbers from 0 (nothing wound).

    Attributes
    ----------
    wound : array of int, shape (contents,)
        Cells wound.
    after : array of int, shape (contents, 2)
        Contents after one more cell, without a join and with one; 0 when the ball is full.
    price : array of float, shape (contents, 2)
        What that cell brings: the price of the ball it fills, else nothing [money].
    """

    wound: NDArray[np.int64]
    after: NDArray[np.int64]
    price: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ExactPolicy:
    """The best policy of a small model.

    Attributes
    ----------
    model : BeltModel
        The model.
    contents : Contents
        What a ball in the making may hold.
    answer : AverageReward
        Gain per cell between bounds; choice 0 winds on, 1 parts and drops what is wound.
    """

    model: BeltModel
    contents: Contents
    answer: AverageReward

    @property
    def parts(self) -> NDArray[np.bool_]:
        """Whether to part, shape (contents, belts); bit 0 of a belt is the next cell to wind."""
        table = self.answer.choice.reshape(self.contents.wound.size, -1)
        return np.asarray(table == PART)


def _check(model: BeltModel) -> None:
    faults = [
        Fault("no such model", expected, key=key, value=f"{value:g}")
        for key, value, sound, expected in (
            ("ball_cells", model.ball_cells, 1 <= model.ball_cells <= 1000, "1 to 1000 cells"),
            ("limit", model.limit, model.limit >= 0, "0 or more"),
            ("min_piece_cells", model.min_piece_cells, model.min_piece_cells >= 0, "0 or more"),
            ("join_chance", model.join_chance, 0.0 <= model.join_chance < 1.0, "0 to below 1"),
            ("second", model.second, 0.0 <= model.second <= model.first, "0 to the price of first"),
            ("waste_per_cell", model.waste_per_cell, model.waste_per_cell >= 0, "0 or more"),
            ("parting", model.parting, model.parting >= 0, "0 or more"),
            (
                "look_ahead_cells",
                model.look_ahead_cells,
                0 <= model.look_ahead_cells <= MOST_LOOK_AHEAD,
                f"0 to {MOST_LOOK_AHEAD} cells",
            ),
        )
        if not sound
    ]
    if faults:
        raise BadInput(faults)


def ball_contents(model: BeltModel) -> Contents:
    """List what a ball in the making may hold.

    Parameters
    ----------
    model : BeltModel
        The model.

    Returns
    -------
    Contents
        Cells wound, what follows and what a full ball brings.

    Notes
    -----
    A content is cells wound, joins so far and cells since the last join (no more than the least
    piece); a ball that can no longer be first-quality forgets its joins. Source: DERIVED.
    """
    least, limit = model.min_piece_cells, model.limit
    spoilt = limit + 1
    known = {(0, 0, 0): 0}
    todo = [(0, 0, 0)]
    after: list[list[int]] = []
    price: list[list[float]] = []
    for wound, joins, run in todo:
        followers, prices = [], []
        for join in (0, 1):
            cells, number, free = wound + 1, joins + join, 0 if join else min(run + 1, least)
            if joins == spoilt or number > limit or (join and run < least):
                number, free = spoilt, 0
            full = cells == model.ball_cells
            good = number <= limit and free >= least
            prices.append((model.first if good else model.second) if full else 0.0)
            follower = (0, 0, 0) if full else (cells, number, free)
            if follower not in known:
                known[follower] = len(todo)
                todo.append(follower)
            followers.append(known[follower])
        after.append(followers)
        price.append(prices)
    return Contents(np.array([one[0] for one in todo]), np.array(after), np.array(price))


def count_states(model: BeltModel) -> int:
    """Say how many states a model has.

    Parameters
    ----------
    model : BeltModel
        The model.

    Returns
    -------
    int
        Contents of the ball times contents of the belt.

    Raises
    ------
    BadInput
        When a number cannot be meant.
    """
    _check(model)
    return int(ball_contents(model).wound.size) << model.look_ahead_cells


def _decisions(model: BeltModel, contents: Contents) -> Decisions:
    """Tables of the process: in each state wind one cell, or part first and then wind one cell."""
    belts = 1 << model.look_ahead_cells
    kinds = contents.wound.size
    may_part = contents.wound > 0
    content = np.repeat(np.arange(kinds), belts)
    belt = np.tile(np.arange(belts), kinds)
    choices = np.where(may_part[content], 2, 1)
    first_choice = np.concatenate(([0], np.cumsum(choices)))
    of_state = np.repeat(np.arange(content.size), choices)
    parts = np.arange(of_state.size) > first_choice[:-1][of_state]
    held = np.where(parts, 0, content[of_state])
    cost = np.where(
        parts, model.parting + model.waste_per_cell * contents.wound[content[of_state]], 0.0
    )
    chances = np.array([1.0 - model.join_chance, model.join_chance])
    if model.look_ahead_cells == 0:
        reward = contents.price[held] @ chances
        following = contents.after[held]
    else:
        join = belt[of_state] & 1
        reward = contents.price[held, join]
        rolled = belt[of_state] >> 1
        head = contents.after[held, join] * belts + rolled
        following = np.stack([head, head + belts // 2], axis=1)
    return Decisions(
        first_choice.astype(np.int64),
        np.asarray(reward - cost, dtype=np.float64),
        2 * np.arange(of_state.size + 1, dtype=np.int64),
        following.reshape(-1).astype(np.int64),
        np.tile(chances, of_state.size),
    )


def small_model(
    joins_per_m: float,
    rule: FirstRule,
    prices: CutPrices,
    *,
    look_ahead_m: float,
    ball_cells: int = 10,
) -> BeltModel:
    """Cut a ball into a few cells, so that its best policy can be found exactly.

    Parameters
    ----------
    joins_per_m : float
        Joins, from all sources [1/m], taken as falling anywhere.
    rule : FirstRule
        When a ball is first-quality; the least piece is rounded up to whole cells.
    prices : CutPrices
        What balls bring and cuts cost.
    look_ahead_m : float
        Strand in sight before the winder [m], rounded to whole cells.
    ball_cells : int
        Cells of a ball.

    Returns
    -------
    BeltModel
        The model; a join takes a whole cell in it.
    """
    cell_m = rule.ball_length_m / ball_cells
    return BeltModel(
        ball_cells=ball_cells,
        limit=rule.limit,
        min_piece_cells=math.ceil(rule.min_piece_m / cell_m - 1e-9),
        look_ahead_cells=round(look_ahead_m / cell_m),
        join_chance=-math.expm1(-joins_per_m * cell_m),
        first=prices.first,
        second=prices.second,
        waste_per_cell=prices.waste_per_m * cell_m,
        parting=prices.parting,
    )


def exact_policy(model: BeltModel, *, narrow: float = 1e-9) -> ExactPolicy:
    """Find the best policy of a small model.

    Parameters
    ----------
    model : BeltModel
        The model.
    narrow : float
        Width of the bounds on the gain to stop at, as a share of the largest reward [1].

    Returns
    -------
    ExactPolicy
        Gain per cell with bounds, and what to do in every state.

    Raises
    ------
    BadInput
        When a number cannot be meant, or the model has too many states (it says how many).

    Notes
    -----
    Two choices are enough: wind one more cell, or part, drop what is wound and wind the next cell
    into a new ball. Dropping cells from the head costs what winding them and parting then costs,
    and can be decided later, so it is never better. Every parting is paid. Source: DERIVED.
    """
    states = count_states(model)
    if states > MOST_STATES:
        raise BadInput(
            Fault(
                "too many states to solve exactly",
                f"at most {MOST_STATES} states: fewer cells in a ball or on the belt",
                value=str(states) if states < 10**15 else f"about 10^{len(str(states)) - 1}",
            )
        )
    contents = ball_contents(model)
    return ExactPolicy(model, contents, best_average(_decisions(model, contents), narrow=narrow))


def follow_exact(policy: ExactPolicy, joins: NDArray[np.bool_]) -> float:
    """Follow a policy along a strand of cells.

    Parameters
    ----------
    policy : ExactPolicy
        What to do in every state.
    joins : array of bool, shape (cells,)
        Which cells are joins.

    Returns
    -------
    float
        Reward per cell wound; the last cells only fill the belt [money/cell].
    """
    model, contents, parts = policy.model, policy.contents, policy.parts
    look = model.look_ahead_cells
    bits = [int(one) for one in joins]
    belt = sum(bit << place for place, bit in enumerate(bits[:look]))
    content, total, cells = 0, 0.0, len(bits) - look
    for cell in range(cells):
        if parts[content, belt]:
            total -= model.parting + model.waste_per_cell * int(contents.wound[content])
            content = 0
        join = bits[cell]
        total += float(contents.price[content, join])
        content = int(contents.after[content, join])
        if look:
            belt = (belt >> 1) | (bits[cell + look] << (look - 1))
    return total / cells
