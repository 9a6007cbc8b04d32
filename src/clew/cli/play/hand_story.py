"""What the lead and the hands tell of the run and the shift, and the slip with a cone."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from clew.cli.play.ball_story import HEAVY_WINDER
from clew.cli.play.told import Cone, Told, Wound

if TYPE_CHECKING:
    from clew.ball.run_card import RunCard

WRONG_LOT = "SL-211"
LOOKED_OVER = {
    "start-up": (
        "guards closed, emergency stops tried", "steam at its pressure, no leak",
        "counters set as the run card says", "scale tried with a known weight",
        "cones are of the run's dye lot",
    ),
    "shut-down": (
        "steam shut and drained", "dryer cooling, its fan on", "part cones labelled",
        "winders stopped and locked out",
    ),
}  # fmt: skip
_LEAD_TABLET = "lead-tablet"


@dataclass(frozen=True, slots=True)
class StopOfLine:
    """A stop of the whole line: everything stands, and goes on where it stood.

    Attributes
    ----------
    at_s, lasts_s : float
        When, on the clock of the drawn shift, and how long [s].
    why : str
        The reason.
    """

    at_s: float
    lasts_s: float
    why: str

    def after(self, at_s: float) -> float:
        """Put a moment of the drawn shift where it comes to lie with the stop [s]."""
        return at_s if at_s <= self.at_s else at_s + self.lasts_s


def wrong_cone(
    cones: Sequence[Cone], after_s: float, lot: str = WRONG_LOT, number: int = 1
) -> list[Told]:
    """Let a hand put up a cone of another dye lot, see it, and put up the right one.

    Parameters
    ----------
    cones : sequence of Cone
        All cones; the one that follows the slip is put up later than drawn.
    after_s : float
        From when on a hand may slip [s].
    lot : str
        Its dye lot: not the run's.
    number : int
        Its number, in its name.

    Returns
    -------
    list of Told
        The wrong cone on, and off again.
    """
    late = [cone for cone in cones if cone.loaded_s > after_s]
    if not late:
        return []
    right = min(late, key=lambda cone: cone.loaded_s)
    at_s, name = right.loaded_s, f"{lot}-{right.lane}{number:02d}"
    right.loaded_s = at_s + 95.0
    says: dict[str, Any] = {"cone": name, "lot": lot}
    mass = {"cone_mass_g": round(1600.0 * (1.0 + right.count_error_frac))}
    on = says | mass | {"place": right.place, "spinner": right.spinner}
    why = f"wrong dye lot: {lot}, the run is of {right.lot}"
    off = says | mass | {"to": "stock", "why": why}
    source, hand = "creel-tablet", right.hand
    return [
        Told(at_s, "cone loaded", source, right.lane, hand, on),
        Told(at_s + 60.0, "cone off", source, right.lane, hand, off),
    ]


def hand_story(
    cards: dict[str, RunCard],
    runs: dict[str, str],
    balls: Sequence[Wound],
    stop: StopOfLine,
    people: tuple[str, ...],
    *,
    factor_of: Callable[[int, float], float],
    mend_at_s: float,
    shift_s: float,
    rng: random.Random,
) -> list[Told]:
    """Tell of runs, checks, the stop, who stands at the tablet, and the handover.

    Parameters
    ----------
    cards : dict of str to RunCard
        By dye lot, in the order in which they are wound.
    runs : dict of str to str
        Names of their runs.
    balls : sequence of Wound
        All balls; the part balls tell when the next colour came to the winders.
    stop : StopOfLine
        The stop.
    people : tuple of str
        The lead, the next one, and the hands.
    factor_of : callable
        What a winder is set to over its card: (lane, s) -> [1].
    mend_at_s : float
        When the lead takes turns off [s].
    shift_s : float
        When the shift ends [s].
    rng : random.Random
        For what is drawn.

    Returns
    -------
    list of Told
        In no order.
    """
    lead, next_lead, *hands = people
    first, second = cards
    changed = sorted(ball.off_s for ball in balls if not ball.whole)
    told = [
        Told(-590.0, "at the tablet", _LEAD_TABLET, 0, lead, {"hand": lead}),
        _looked_over(-560.0, "start-up", lead),
        _run_start(0.0, cards[first], runs[first], lead, order="1041"),
        Told(-1.0, "belt on", "belt"),
        Told(900.0, "at the tablet", "row-tablet", 0, hands[0], {"hand": hands[0]}),
    ]
    own = {row.lane: row.counts for row in cards[first].settings}[HEAVY_WINDER]
    counts = {str(HEAVY_WINDER): round(own * factor_of(HEAVY_WINDER, mend_at_s))}
    why = f"winder {HEAVY_WINDER} runs heavy: {own - counts[str(HEAVY_WINDER)]} counts taken off"
    told.append(
        Told(mend_at_s, "run set", _LEAD_TABLET, 0, lead,
             {"run": runs[first], "counts": counts, "why": why})
    )  # fmt: skip
    over_s = stop.at_s + stop.lasts_s
    told += [
        Told(stop.at_s + 0.2, "belt off", "belt"),
        Told(stop.at_s + rng.uniform(8.0, 25.0), "stop", "row-tablet", 0, hands[0],
             {"why": stop.why}),
        Told(over_s - rng.uniform(3.0, 8.0), "go on", "row-tablet", 0, hands[0],
             {"note": "steam is back at its pressure"}),
        Told(over_s - 0.2, "belt on", "belt"),
        Told(4.0 * 3600.0, "note", "row-tablet", 0, hands[-1],
             {"note": "cones of the second tray have loose tails"}),
    ]  # fmt: skip
    last = first
    if changed:
        told += [
            Told(changed[0] - 1.5, "run end", _LEAD_TABLET, 0, lead,
                 {"run": runs[first], "why": "the next colour is at the winders"}),
            _run_start(changed[0] - 0.5, cards[second], runs[second], lead),
        ]  # fmt: skip
        last = second
    told += [
        Told(shift_s + 10.0, "run end", _LEAD_TABLET, 0, lead,
             {"run": runs[last], "why": "end of the shift"}),
        Told(shift_s + 2.0, "belt off", "belt"),
        _looked_over(shift_s + 120.0, "shut-down", lead),
        Told(shift_s + 240.0, "handover", _LEAD_TABLET, 0, lead,
             {"note": f"Winder {HEAVY_WINDER} ran heavy at first and is set by its own count. "
                      "The steam pressure fell once; the fitter knows.", "to": next_lead}),
        Told(shift_s + 260.0, "at the tablet", _LEAD_TABLET, 0, next_lead, {"hand": next_lead}),
    ]  # fmt: skip
    return told


def _looked_over(at_s: float, what: str, lead: str) -> Told:
    done = list(LOOKED_OVER[what])
    says = {"what": what, "done": done[:-1], "not_done": done[-1:] if what == "shut-down" else []}
    if what == "start-up":
        says["done"] = done
    return Told(at_s, "check", _LEAD_TABLET, 0, lead, says)


def _run_start(at_s: float, card: RunCard, run: str, lead: str, order: str | None = None) -> Told:
    return Told(
        at_s, "run start", _LEAD_TABLET, 0, lead,
        {
            "run": run, "lot": card.lot_name, "ball_name": card.ball_name,
            "turns": card.answer.turns,
            "counts": {str(row.winder): row.counts for row in card.settings},
            "target_g": round(card.answer.mass_g, 1),
            "call_low_g": round(card.call_out_scale_g.low, 1),
            "call_high_g": round(card.call_out_scale_g.high, 1), "order": order,
        },
    )  # fmt: skip
