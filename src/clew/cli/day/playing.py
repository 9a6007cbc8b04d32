"""The played day, step by step: each does what the command of that station does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from clew.cli.day.asked import DayAsked, DayClock
from clew.cli.day.keeping import DayKeeping
from clew.cli.day.lots import certificate_path, decide_on_lot, knots_looked_for
from clew.cli.day.made import DayMade, LanesNow, RunMade
from clew.cli.day.packing import (
    send,
    stack_pallet,
    trace_returned,
    write_delivery,
    write_labels,
)
from clew.cli.day.planned import (
    ORDERS,
    make_day_plan,
    runs_of_shift,
    write_run_papers,
    write_shift_papers,
)
from clew.cli.day.run_play import RunPlay, start_of
from clew.cli.day.run_story import RunTerms, draw_run
from clew.cli.day.weighed import weighed_balls
from clew.cli.play.hand_story import LOOKED_OVER, StopOfLine
from clew.cli.play.shift_script import HANDS, LEAD, NEXT_LEAD, STOP
from clew.cli.ship.placing import order_asked

if TYPE_CHECKING:
    from clew.ledger.shipping.consignment import Consignment
    from clew.ledger.store.ledger import Ledger
    from clew.plan.sequence.timed_run import TimedRun

LEAST_RUN_S = 1200.0
"""A run is not begun this close to the end of the shift [s]."""
SLIP_S = 900.0
BACK_DAYS = 2
"""A ball comes back so many days later."""
PAPERS = "papers"
Tell = Callable[[float, str], None]


class DayPlay:
    """Plays a day into a ledger and a folder of papers.

    Parameters
    ----------
    asked : DayAsked
        Which day, where.
    ledger : Ledger
        The ledger; its clock is the day's.
    clock : DayClock
        The day's clock.
    tell : callable
        Told how much of the day is played [1], and what is done now.
    """

    def __init__(self, asked: DayAsked, ledger: Ledger, clock: DayClock, tell: Tell) -> None:
        self.asked, self.ledger, self.clock, self.tell = asked, ledger, clock, tell
        self.papers = asked.folder / PAPERS
        self.lots = asked.folder / "lots"
        self.upto = asked.start + timedelta(hours=asked.hours)

    def play(self) -> DayMade:
        """Play it all."""
        self.tell(0.0, "plan: which order runs next")
        made = make_day_plan(self.asked.folder, self.asked.start)
        self.keeping = DayKeeping(self.ledger, self.clock, made.mill)
        day = DayMade(self.asked, made)
        self.tell(0.14, "plan: shift plan, pick list, tally sheet")
        day.papers += write_shift_papers(made, self.papers, self.asked.start)
        self.told_at_the_start(made.mill.line[0].name)
        self.play_runs(day)
        self.tell(0.84, "run: the shift is handed over")
        self.told_at_the_end(day)
        for place, run in enumerate(day.runs):
            if run.play.drawn.done:
                self.tell(0.86 + 0.02 * place, f"lots: {run.timed.run.lot_name} is tested")
                day.runs[place] = self.release(day, run)
        self.tell(0.94, "trace: a ball comes back")
        self.ball_back(day)
        return day

    def told_at_the_start(self, line: str) -> None:
        """Let the lead look the line over."""
        say, start = self.keeping.tell, round(self.asked.start.timestamp() * 1e6)
        say("at the tablet", start - 590_000_000, "lead", author=LEAD, line=line, hand=LEAD)
        say("check", start - 560_000_000, "start-up", author=LEAD, line=line, what="start-up",
            done=list(LOOKED_OVER["start-up"]))  # fmt: skip

    def play_runs(self, day: DayMade) -> None:
        """Play the runs of the shift, one after another."""
        line = day.made.mill.line[0]
        planned = runs_of_shift(day.made, self.asked.start, self.upto)
        lanes = LanesNow.at_first(line.lanes, self.asked.seed)
        free = self.asked.start
        for place, timed in enumerate(planned):
            start = self.asked.start
            if place:
                start = max(timed.start, free + (timed.start - timed.change_from))
                start = start.replace(second=0, microsecond=0) + timedelta(minutes=1)
            if (self.upto - start).total_seconds() < LEAST_RUN_S:
                day.put_off.append(timed)
                continue
            self.share = (0.16 + 0.68 * place / len(planned), 0.68 / len(planned))
            run = self.play_run(day, timed, start, place, lanes)
            day.runs.append(run)
            free = run.ended + timedelta(seconds=240)
            lanes.after(run.play.drawn, timed.run.lot_name)

    def play_run(
        self, day: DayMade, timed: TimedRun, start: datetime, place: int, lanes: LanesNow
    ) -> RunMade:
        """Play one run."""
        from clew.ball.run_card import run_card_of

        mill, run = day.made.mill, timed.run
        begun, share = self.share

        def progress(done: float) -> None:
            words = f"run: {run.balls} {run.ball_name} of {run.lot_name}"
            self.tell(begun + share * done, words)

        progress(0.0)
        order = order_asked(mill, run.order_number, self.asked.folder / ORDERS)
        assert order is not None
        card = run_card_of(mill, run.ball_name, run.lot_name, timed.line_name)
        day.papers += write_run_papers(
            day.made, timed, card, self.papers, self.asked.folder / "cards"
        )
        message = start_of(self.keeping, card, start, order, f"start {place + 1}")
        terms = RunTerms(
            mill, card, message.run, start, run.balls,
            (self.upto - start).total_seconds() - 60.0, 1000 * self.asked.seed + place,
            lanes.errors, dict(lanes.ball), dict(lanes.fed_m), lanes.cones_of(run.lot_name),
            _stop_after(start, self.asked.start), None if place else SLIP_S,
        )  # fmt: skip
        drawn = draw_run(terms)
        packing = mill.find_ball(run.ball_name).packing
        per_case = packing.balls_per_bag * packing.bags_per_case
        play = RunPlay(
            self.keeping, terms, drawn, lanes.settings, order, per_case, self.lots, progress
        )
        why = f"order {order.number} is made" if drawn.done else "the shift ends"
        play.play(message, why)
        return RunMade(timed, play, start, start + timedelta(seconds=drawn.end_s + 30.0))

    def told_at_the_end(self, day: DayMade) -> None:
        """Let the lead shut down and hand over."""
        line, say = day.made.mill.line[0].name, self.keeping.tell
        over = round(self.upto.timestamp() * 1e6)
        looked = LOOKED_OVER["shut-down"]
        say("check", over + 120_000_000, "shut-down", author=LEAD, line=line, what="shut-down",
            done=list(looked[:-1]), not_done=list(looked[-1:]))  # fmt: skip
        made = ", ".join(
            f"{one.timed.run.name} {'is made' if one.play.drawn.done else 'goes on'}"
            for one in day.runs
        )
        off = [
            f"winder {row.winder} is set {100 * (ratio - 1):+.1f} % from its card"
            for row in (day.runs[-1].play.card.settings if day.runs else ())
            if (ratio := day.runs[-1].play.settings.ratio.get(row.lane, 1.0)) != 1.0
        ]
        note = ". ".join([made, *off]) or "Nothing was made"
        say("handover", over + 240_000_000, "handover", author=LEAD, line=line, note=f"{note}.",
            to=NEXT_LEAD)  # fmt: skip

    def release(self, day: DayMade, run: RunMade) -> RunMade:
        """Test the lot of a run; where it is released, pack it for its order and send it."""
        timed, play = run.timed, run.play
        mill, lot, seed = self.keeping.mill, timed.run.lot_name, self.asked.seed
        line = mill.find_line(timed.line_name)
        begun = [one.start for one in day.runs if one.start > run.start]
        upto = min([*begun, run.ended + timedelta(seconds=600)])
        balls = [
            one
            for one in weighed_balls(
                self.ledger, line, play.at_us(0.0), round(upto.timestamp() * 1e6),
                play.drawn.passage_s,
            )
            if one.banded
        ]  # fmt: skip
        knots = self.knots_of(run)
        limit = mill.find_ball(timed.run.ball_name).knot_limit
        looked = knots_looked_for(
            self.keeping, timed.run.ball_name, len(balls), list(knots.values()), seed=seed
        )
        at_us = self.clock.now_us + 600_000_000
        note = f"{looked[0]} balls looked through for knots, {looked[1]} with more than {limit}"
        self.keeping.tell("note", at_us, f"looked {timed.run.name}", author=HANDS[1],
                          line=line.name, lot=lot, note=note)  # fmt: skip
        self.clock.reach(at_us + 300_000_000)
        tested = decide_on_lot(
            self.keeping, self.lots, balls, looked, ball=timed.run.ball_name, lot=lot,
            line=line.name, run=play.terms.run, seed=seed, author=LEAD,
        )  # fmt: skip
        day.papers.append((f"Certificate of {lot}", certificate_path(self.lots, play.terms.run)))
        made = replace(run, tested=tested)
        if not play.cases:
            return made
        self.clock.reach(self.clock.now_us + 300_000_000)
        shipping, order = self.asked.folder / "shipping", play.order
        per = mill.find_ball(timed.run.ball_name).packing.cases_per_pallet
        pallets: list[str] = []
        left: Consignment | tuple[str, ...] = ()
        if tested.decision == "release":
            pallets = [
                stack_pallet(self.keeping, f"{play.terms.run} pallet {first // per + 1}",
                             play.cases[first : first + per], order)
                for first in range(0, len(play.cases), per)
            ]  # fmt: skip
            self.clock.reach(self.clock.now_us + 300_000_000)
            left = send(self.keeping, f"{play.terms.run} sent", pallets, order, LEAD)
            if not isinstance(left, tuple):
                day.papers += write_delivery(self.keeping, shipping, left)
        day.papers += write_labels(self.keeping, shipping, play.cases, pallets, order)
        return replace(made, pallets=tuple(pallets), left=left)

    def knots_of(self, run: RunMade) -> dict[tuple[int, int], int]:
        """Count the joins in each banded ball of a run, as they were wound."""
        banded = {
            (int(one["lane"]), int(one["ball"]))
            for _, one in run.play.events
            if one["kind"] == "banded"
        }
        joins = run.play.drawn.joins_m()
        return {
            (ball.lane, ball.number): sum(
                ball.from_m < metre <= ball.upto_m for metre in joins[ball.lane]
            )
            for story in run.play.drawn.stories
            for ball in story.balls
            if (ball.lane, ball.number) in banded
        }

    def ball_back(self, day: DayMade) -> None:
        """Let the ball with most joins of what left come back, and trace it by its band."""
        sent = [one for one in day.runs if one.left and not isinstance(one.left, tuple)]
        if not sent:
            return
        run = sent[0]
        knots = self.knots_of(run)
        most = max(knots, key=lambda one: (knots[one], -one[1], -one[0]))
        code = next(
            str(one["code"])
            for _, one in run.play.events
            if one["kind"] == "banded" and (one["lane"], one["ball"]) == most
        )
        at_us = self.clock.now_us + BACK_DAYS * 86_400_000_000
        why = "a knot" if knots[most] == 1 else f"{knots[most]} knots"
        self.keeping.tell("returned", at_us, "returned", author=LEAD, lot=run.timed.run.lot_name,
                          customer=run.play.order.customer, balls=1, code=code,
                          why=why)  # fmt: skip
        found, written = trace_returned(
            self.keeping, self.asked.folder / "returned", code, knots[most],
            run.timed.run.ball_name, run.timed.run.lot_name,
        )  # fmt: skip
        day.papers += written
        day.returned = (code, knots[most], found)


def _stop_after(start: datetime, shift: datetime) -> StopOfLine:
    """Put the stop of the shift on the clock of a run that starts in it."""
    at_s = STOP.at_s - (start - shift).total_seconds()
    return StopOfLine(at_s if at_s > 0.0 else float("inf"), STOP.lasts_s, STOP.why)


def papers_of(day: DayMade) -> Sequence[tuple[str, str]]:
    """Name what was written, each with its place in the folder."""
    folder = day.asked.folder
    return [(words, path.relative_to(folder).as_posix()) for words, path in day.papers]
