"""A shift added up: what was made, what stood and why, what was found odd, what to hand over."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from clew.ledger.state.answer import Handover, LookedOver, Shift
from clew.ledger.state.effective import AHEAD
from clew.ledger.state.known import Effective


@dataclass(frozen=True, slots=True)
class RunOfShift:
    """A run, as far as it lay in the shift.

    Attributes
    ----------
    run, ball_name, lot : str
        Its name, its ball, its dye lot.
    from_us, upto_us : int
        From when to when within the shift [us].
    goes_on : bool
        Whether it was still in progress at the end.
    trial : bool
        Whether its balls are not for sale.
    changes : int
        Settings changed in the shift.
    """

    run: str
    ball_name: str
    lot: str
    from_us: int
    upto_us: int
    goes_on: bool
    trial: bool
    changes: int


@dataclass(frozen=True, slots=True)
class WeighedOfLane:
    """Balls of one kind that a lane wound in the shift and that were weighed.

    Attributes
    ----------
    ball_name : str
        Which ball; empty where no run was in progress.
    weighed : int
        Those whose mass is plausible.
    mean_g, sd_g : float or None
        Their mean and standard deviation [g]; no deviation of a single one.
    """

    ball_name: str
    weighed: int
    mean_g: float
    sd_g: float | None


@dataclass(frozen=True, slots=True)
class LaneOfShift:
    """What one lane did in the shift.

    Attributes
    ----------
    lane : int
        Lane.
    doffed, pulled : int
        Balls taken off; pulled out of first quality.
    ties, breaks_feed, breaks_winder, breaks_elsewhere : int
        Cone ties; strands re-tied, by where they parted.
    weighed : tuple of WeighedOfLane
        Balls weighed, each kind of ball by itself: there is no mean of 100 g and 200 g balls.
    stood_s : float
        Time it was stopped by hand, that of the whole line within [s].
    """

    lane: int
    doffed: int
    pulled: int
    ties: int
    breaks_feed: int
    breaks_winder: int
    breaks_elsewhere: int
    weighed: tuple[WeighedOfLane, ...]
    stood_s: float


@dataclass(frozen=True, slots=True)
class Stand:
    """One stop.

    Attributes
    ----------
    lane : int
        Lane; 0 for the whole line.
    from_us, upto_us : int
        From when to when within the shift [us].
    why : str
        The reason.
    goes_on : bool
        Whether it still stood at the end.
    """

    lane: int
    from_us: int
    upto_us: int
    why: str
    goes_on: bool

    @property
    def lasted_s(self) -> float:
        """How long [s]."""
        return (self.upto_us - self.from_us) / 1e6


@dataclass(frozen=True, slots=True)
class ShiftReport:
    """A shift of one line.

    Attributes
    ----------
    line : str
        The line.
    shift : Shift
        Which shift.
    upto_us : int
        Reported up to here: its end, or now [us].
    runs : tuple of RunOfShift
        In order of time.
    lanes : tuple of LaneOfShift
        By lane.
    stands : tuple of Stand
        Stops, in order of time.
    pulled_why : tuple of (str, int)
        Reasons for pulled balls, the commonest first.
    cases : tuple of (str, int)
        Cases closed, with their balls.
    rework_g : float
        Yarn won back [g].
    part_cones : int
        Part cones taken off.
    hands : tuple of str
        Who entered something or stood at the tablet.
    checks : tuple of LookedOver
        Looks over the line.
    handovers : tuple of Handover
        Notes to the next lead.
    odd : tuple of (str, int)
        What was odd about events, the commonest first.
    corrected : int
        Events that a correction changed.
    events : int
        Events that count.
    of_trials : int
        Balls taken off in trial runs, within those taken off: not for sale.
    """

    line: str
    shift: Shift
    upto_us: int
    runs: tuple[RunOfShift, ...]
    lanes: tuple[LaneOfShift, ...]
    stands: tuple[Stand, ...]
    pulled_why: tuple[tuple[str, int], ...]
    cases: tuple[tuple[str, int], ...]
    rework_g: float
    part_cones: int
    hands: tuple[str, ...]
    checks: tuple[LookedOver, ...]
    handovers: tuple[Handover, ...]
    odd: tuple[tuple[str, int], ...]
    corrected: int
    events: int
    of_trials: int = 0

    @property
    def doffed(self) -> int:
        """Balls taken off."""
        return sum(one.doffed for one in self.lanes)

    @property
    def pulled(self) -> int:
        """Balls pulled out of first quality."""
        return sum(one.pulled for one in self.lanes)


def shift_report(
    line: str, lanes: int, shift: Shift, now_us: int, events: Iterable[Effective]
) -> ShiftReport:
    """Add a shift up.

    Parameters
    ----------
    line : str
        The line.
    lanes : int
        How many lanes it has.
    shift : Shift
        Which shift.
    now_us : int
        Now: what the shift has not reached yet is not reported [us].
    events : iterable of Effective
        What counts of the line, in order of time: of the shift, and before it at least back to
        the start of what was in progress as it began.

    Returns
    -------
    ShiftReport
        The shift.
    """
    upto_us = min(shift.upto_us, max(now_us, shift.from_us))
    told = [one for one in events if one.at_us < upto_us]
    listed = [one for one in told if AHEAD not in one.flags]  # a wild clock's moment says nothing
    within = [one for one in listed if one.at_us >= shift.from_us]
    odd = [one for one in told if one.at_us >= shift.from_us]
    stands = _stands(listed, shift.from_us, upto_us)
    weighed = _masses(listed, shift.from_us)
    return ShiftReport(
        line=line,
        shift=shift,
        upto_us=upto_us,
        runs=_runs(listed, shift.from_us, upto_us),
        lanes=tuple(
            _lane(number, within, stands, weighed) for number in range(1, lanes + 1)
        ),
        stands=stands,
        pulled_why=_counted(
            str(one.body.get("why") or "no reason told") for one in within if one.kind == "pulled"
        ),
        cases=tuple(
            (one.package, int(one.body["balls"])) for one in within if one.kind == "case closed"
        ),
        rework_g=math.fsum(
            float(one.body.get("mass_g") or 0.0) for one in within if one.kind == "rework"
        ),
        part_cones=sum(one.kind == "cone off" for one in within),
        hands=tuple(
            sorted(
                {one.author for one in within if one.author}
                | {str(one.body["hand"]) for one in within if one.kind == "at the tablet"}
            )
        ),
        checks=tuple(
            LookedOver(
                one.at_us, str(one.body["what"]), one.author,
                tuple(one.body.get("done") or ()), tuple(one.body.get("not_done") or ()),
            )
            for one in within if one.kind == "check"
        ),
        handovers=tuple(
            Handover(one.at_us, one.author, str(one.body.get("to") or ""), str(one.body["note"]))
            for one in within if one.kind == "handover"
        ),
        odd=_counted(flag for one in odd for flag in one.flags if flag != "corrected"),
        corrected=sum(one.corrected for one in within),
        events=len(within),
        of_trials=_of_trials(listed, shift.from_us),
    )  # fmt: skip


def _of_trials(events: Sequence[Effective], from_us: int) -> int:
    """Count the balls taken off since a moment while a trial run was in progress."""
    trial, count = "", 0
    for one in events:
        if one.kind == "run start":
            trial = one.run if one.body.get("trial") is True else ""
        elif one.kind == "run end" and one.run == trial:
            trial = ""
        elif one.kind == "doff" and trial and one.at_us >= from_us:
            count += 1
    return count


def _counted(words: Iterable[str]) -> tuple[tuple[str, int], ...]:
    found = Counter(words)
    return tuple(sorted(found.items(), key=lambda one: (-one[1], one[0])))


def _runs(events: Sequence[Effective], from_us: int, upto_us: int) -> tuple[RunOfShift, ...]:
    found: list[RunOfShift] = []
    begun: Effective | None = None
    changes = 0
    for one in [*events, None]:
        if one is not None and one.kind == "run set" and one.at_us >= from_us:
            changes += begun is not None and one.run == begun.run
        if one is not None and one.kind not in ("run start", "run end"):
            continue
        if one is not None and one.kind == "run end" and (begun is None or one.run != begun.run):
            continue  # told late, of a run that the next one ended
        ended_us = upto_us if one is None else one.at_us
        if begun is not None and ended_us >= from_us:
            found.append(
                RunOfShift(
                    begun.run, str(begun.body["ball_name"]), begun.lot,
                    max(begun.at_us, from_us), ended_us, one is None,
                    bool(begun.body.get("trial")), changes,
                )
            )  # fmt: skip
        begun = one if one is not None and one.kind == "run start" else None
        changes = 0
    return tuple(found)


def _stands(events: Sequence[Effective], from_us: int, upto_us: int) -> tuple[Stand, ...]:
    """List the stops; one that is told again while it lasts keeps its first moment and reason."""
    open_: dict[int, Effective] = {}
    found: list[Stand] = []
    for one in events:
        if one.kind == "stop":
            open_.setdefault(one.lane, one)
        elif one.kind == "go on" and one.lane in open_:
            begun = open_.pop(one.lane)
            if one.at_us > from_us:
                found.append(_stand(begun, from_us, one.at_us, goes_on=False))
    found += [_stand(begun, from_us, upto_us, goes_on=True) for begun in open_.values()]
    return tuple(sorted(found, key=lambda one: (one.from_us, one.lane)))


def _stand(begun: Effective, from_us: int, upto_us: int, *, goes_on: bool) -> Stand:
    why = str(begun.body.get("why") or "")
    return Stand(begun.lane, max(begun.at_us, from_us), upto_us, why, goes_on)


def _masses(events: Sequence[Effective], from_us: int) -> Mapping[tuple[int, str], Sequence[float]]:
    """List plausible masses by lane and ball: that of a weighing's own run, else of the last."""
    balls = {one.run: str(one.body["ball_name"]) for one in events if one.kind == "run start"}
    found: dict[tuple[int, str], list[float]] = {}
    last = ""
    for one in events:
        if one.kind == "run start":
            last = one.run
        if one.kind != "weighing" or one.at_us < from_us or "mass_g out of range" in one.flags:
            continue
        ball = balls.get(one.run or last, "")
        found.setdefault((one.lane, ball), []).append(float(one.body["mass_g"]))
    return found


def _weighed(ball_name: str, masses: Sequence[float]) -> WeighedOfLane:
    mean_g = math.fsum(masses) / len(masses)
    sd_g = None
    if len(masses) > 1:
        sd_g = math.sqrt(math.fsum((one - mean_g) ** 2 for one in masses) / (len(masses) - 1))
    return WeighedOfLane(ball_name, len(masses), mean_g, sd_g)


def _lane(
    number: int,
    within: Sequence[Effective],
    stands: Sequence[Stand],
    weighed: Mapping[tuple[int, str], Sequence[float]],
) -> LaneOfShift:
    own = [one for one in within if one.lane == number]
    kinds = Counter(one.kind for one in own)
    breaks = Counter(str(one.body.get("parted_at") or "") for one in own if one.kind == "retie")
    return LaneOfShift(
        number, kinds["doff"], kinds["pulled"], _ties(own), breaks["feed"],
        breaks["winder"], breaks.total() - breaks["feed"] - breaks["winder"],
        tuple(_weighed(ball, masses) for (lane, ball), masses in weighed.items() if lane == number),
        _union_s([one for one in stands if one.lane in (0, number)]),
    )  # fmt: skip


def _ties(own: Sequence[Effective]) -> int:
    """Count a lane's ties; one told by the hand and by the feed brings the same cone on: one."""
    cones = [one.cone for one in own if one.kind in ("tie", "colour")]
    again = sum(bool(one) and one == after for one, after in pairwise(cones))
    return len(cones) - again


def _union_s(stands: Sequence[Stand]) -> float:
    """Add times up, those that overlap once [s]."""
    total_us, ended_us = 0, 0
    for one in sorted(stands, key=lambda stand: stand.from_us):
        total_us += max(0, one.upto_us - max(one.from_us, ended_us))
        ended_us = max(ended_us, one.upto_us)
    return total_us / 1e6
