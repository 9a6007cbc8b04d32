"""Which model of a crew applies: stops at random, or fills of a fixed length."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.interference.stopped import check_number, check_time

Stops = Literal["breaks", "doffs", "both"]
ModelLaw = Literal["constant", "exponential", "gamma", "patrol", "synchronous"]

IN_STEP_CV = 0.01
"""Fills that spread no more than this keep step behind a hand who has time left."""

STEADY_CV = 0.1
"""Services that spread no more than this count as always the same."""


@dataclass(frozen=True, slots=True)
class Applies:
    """The model to use, and why.

    Attributes
    ----------
    law : str
        The model, as `clew line interference --law` names it.
    exact : bool
        Whether its assumptions are all met as stated; False: it is the nearest one there is.
    reasons : tuple of str
        Why, in sentences.
    """

    law: ModelLaw
    exact: bool
    reasons: tuple[str, ...]


def which_applies(
    stops: Stops,
    *,
    hands: int = 1,
    service_cv: float = 1.0,
    walk_s: float = 0.0,
    fill_cv: float = 0.0,
) -> Applies:
    """Say which model applies to a row of machines, and why.

    Parameters
    ----------
    stops : {"breaks", "doffs", "both"}
        What stops a machine: breaks and knots, that come at random; full balls, after a fixed fill
        time; or both.
    hands : int
        Hands that serve the row.
    service_cv : float
        Spread of service over its mean [1].
    walk_s : float
        Walk from one machine to the next; above 0 means that it counts beside the service [s].
    fill_cv : float
        Spread of the fill time over its mean; used for doffs [1].

    Returns
    -------
    Applies
        The model, whether it fits exactly, and why.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    Random stops meet by chance, so machines wait even when the hand has time left. Fixed fills fall
    into step, and none waits until the hand has no time left. Step is lost quickly: with the hand
    busy for 58 % (81 %) of the time, a fill spread of 1 % makes 3 % (4 %) of the wait of random
    stops, 2 % makes 8 % (11 %), 5 % a third, 10 % makes 61 % (53 %). Source: limits of the models
    in this room, DERIVED; loss of step simulated, COMPUTED; that a service spread of 10 % counts as
    constant is assumed.
    """
    faults = [
        *check_number("hands", hands),
        *check_time("walk_s", walk_s, zero=True),
    ]
    if stops not in ("breaks", "doffs", "both"):
        faults.append(Fault("not known", "breaks, doffs or both", key="stops", value=str(stops)))
    for key, spread in (("service_cv", service_cv), ("fill_cv", fill_cv)):
        if not 0.0 <= spread <= 3.0:
            fault = Fault("out of range", "a spread from 0 to 3", key=key, value=f"{spread:g}")
            faults.append(fault)
    if faults:
        raise BadInput(faults)
    if stops == "doffs":
        return _in_step(hands, fill_cv)
    found = _at_random(hands, service_cv, walk_s)
    if stops == "both":
        mixed = (
            say("Doffs come after a fixed fill, breaks at random: no closed form holds for both."),
            say(
                "As a rule, all stops at random give too long a wait and all in step too short a "
                "one: the truth lies between, and a simulation finds it."
            ),
        )
        return Applies(found.law, False, mixed + found.reasons)
    return found


def _in_step(hands: int, fill_cv: float) -> Applies:
    reasons = [
        "Fills of one length fall into step behind the hand: no machine waits "
        "while a round of services and walks is no longer than one fill and service."
    ]
    if fill_cv > IN_STEP_CV:
        reasons.append(
            f"Fills that spread {100.0 * fill_cv:g} % do not keep step: the wait lies between this "
            "and --law constant, nearer to the latter from some 10 % on."
        )
    if hands > 1:
        reasons.append("Several hands: give each a group of its own and ask for one group.")
    return Applies("synchronous", hands == 1 and fill_cv <= IN_STEP_CV, tuple(reasons))


def _at_random(hands: int, service_cv: float, walk_s: float) -> Applies:
    reasons = [say("Breaks come at random, so stops meet by chance and machines wait for a hand.")]
    steady = service_cv <= STEADY_CV
    if hands == 1 and walk_s > 0.0:
        reasons.append(say("One hand walks a fixed round, and the walk counts beside the service."))
        if not steady:
            reasons.append(say("Services are taken as all alike; theirs spread more."))
        return Applies("patrol", steady, tuple(reasons))
    if hands == 1 and steady:
        reasons.append(say("One hand and services all alike: exact."))
        return Applies("constant", True, tuple(reasons))
    if hands == 1 and service_cv != 1.0:
        reasons.append(say("One hand, services spread: exact for a gamma law of that spread."))
        return Applies("gamma", True, tuple(reasons))
    if hands == 1:
        reasons.append(say("One hand, services as uneven as chance makes them: exact."))
        return Applies("exponential", True, tuple(reasons))
    reasons.append(
        say(
            "Several hands serve any machine: only exponential service (spread 1) has a closed "
            "form."
        )
    )
    if walk_s > 0.0:
        reasons.append(say("The walk is left out: put the usual walk to a stop into the service."))
    if service_cv < 1.0:
        reasons.append(
            say("As a rule, service that spreads less makes machines wait less than it says.")
        )
    elif service_cv > 1.0:
        reasons.append(
            say("As a rule, service that spreads more makes machines wait more than it says.")
        )
    return Applies("exponential", service_cv == 1.0 and walk_s == 0.0, tuple(reasons))
