"""One run of the played day: started, wound, weighed, corrected, packed and ended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clew.cli.day.keeping import SOURCE, DayKeeping
from clew.cli.day.packing import ToPack, pack_case
from clew.cli.day.run_story import RunDrawn, RunTerms, told_of
from clew.cli.day.weighed import weighed_balls, who_runs_off, write_weighed
from clew.cli.play.shift_script import LEAD, MEND_AT_S
from clew.ledger.events.message import Message
from clew.ledger.reports.day_figures import CARRIED
from clew.ledger.runs.end import EndQuestion, end_message
from clew.ledger.runs.setting import SetQuestion, set_message
from clew.ledger.state.live import LiveLine

if TYPE_CHECKING:
    from clew.ball.run_card import RunCard
    from clew.plan.orders.asked import OrderAsked

LEAST_LEFT_S = 900.0
"""A winder is not corrected this close to the end of its run [s]."""
TOGETHER_S = 60.0
"""What happens within so long arrives together [s]."""
Events = list[tuple[float, dict[str, Any]]]


@dataclass(slots=True)
class Settings:
    """What winders are set to over the card, and since when.

    Attributes
    ----------
    ratio : dict of int to float
        By lane, as it stands [1].
    changes : list of (float, int, float)
        Moment of the run [s], lane, and what it is set to from then on [1].
    """

    ratio: dict[int, float] = field(default_factory=dict)
    changes: list[tuple[float, int, float]] = field(default_factory=list)

    def factor(self, lane: int, at_s: float) -> float:
        """Say what a winder is set to over its card [1]."""
        found = 1.0
        for since_s, of, ratio in self.changes:
            if of == lane and since_s <= at_s:
                found = ratio
        return found

    def change(self, at_s: float, lane: int, ratio: float) -> None:
        """Set a winder anew."""
        self.ratio[lane] = ratio
        self.changes.append((at_s, lane, ratio))


@dataclass(slots=True)
class RunPlay:
    """Plays one run into the ledger.

    Attributes
    ----------
    keeping : DayKeeping
        The ledger.
    terms : RunTerms
        The run.
    drawn : RunDrawn
        Its strand.
    settings : Settings
        What the winders are set to; carried from run to run.
    order : OrderAsked
        The order it is made for.
    per_case : int
        Balls in a case.
    folder : Path
        Where files of weighings lie.
    progress : callable
        Told how much of the run is played [1].
    """

    keeping: DayKeeping
    terms: RunTerms
    drawn: RunDrawn
    settings: Settings
    order: OrderAsked
    per_case: int
    folder: Path
    progress: Callable[[float], None]
    events: Events = field(default_factory=list)
    fed: int = 0
    cases: list[str] = field(default_factory=list)

    @property
    def card(self) -> RunCard:
        """The run's card."""
        return self.terms.card

    def at(self, at_s: float) -> datetime:
        """Put a moment of the run on the clock."""
        return self.terms.start + timedelta(seconds=at_s)

    def at_us(self, at_s: float) -> int:
        """Put a moment of the run on the ledger's clock [us]."""
        return round(self.terms.start.timestamp() * 1e6) + round(at_s * 1e6)

    def play(self, start: Message, why: str) -> None:
        """Play the run from its start message to its end.

        Parameters
        ----------
        start : Message
            What starts it.
        why : str
            Why it ends.
        """
        self.settings.changes = [(-1.0, lane, one) for lane, one in self.settings.ratio.items()]
        self.tell()
        self.feed(-0.5)
        self.keeping.clock.reach(self.at_us(0.0))
        self.keeping.once(start.key, lambda: start)
        self.carry_over()
        banded = [at_s for at_s, one in self.events if one["kind"] == "banded"]
        check_s = MEND_AT_S if self.drawn.end_s - MEND_AT_S > LEAST_LEFT_S else None
        last_s = max([self.drawn.end_s + 30.0, *(at_s for at_s, _ in self.events)])
        stops = [(at_s + 20.0, number) for number, at_s in self.full_cases(banded)]
        ended = False
        for due_s, number in sorted([*stops, (last_s + 25.0, 0)]):
            if check_s is not None and check_s < due_s:
                self.feed(check_s)
                self.correct(check_s)
                check_s = None
            if not ended and due_s > self.drawn.end_s + 30.0:
                self.feed(self.drawn.end_s + 30.0)
                self.end(self.drawn.end_s + 30.0, why)
                ended = True
            self.feed(due_s)
            if number:
                first = (number - 1) * self.per_case
                self.pack(number, banded[first : first + self.per_case])
            self.progress(min(due_s / last_s, 1.0))

    def full_cases(self, banded: list[float]) -> list[tuple[int, float]]:
        """Say when each case is full; the last one holds what is left where the run is done."""
        per = self.per_case
        found = [(n + 1, banded[(n + 1) * per - 1]) for n in range(len(banded) // per)]
        if self.drawn.done and len(banded) % per:
            found.append((len(found) + 1, banded[-1]))
        return found

    def tell(self) -> None:
        """Draw what is told, by what the winders are set to."""
        self.events = told_of(self.drawn, self.terms, self.settings.factor)

    def feed(self, upto_s: float) -> None:
        """Let everything up to a moment arrive."""
        while self.fed < len(self.events) and self.events[self.fed][0] <= upto_s:
            due_s = min(self.events[self.fed][0] + TOGETHER_S, upto_s)
            end = self.fed
            while end < len(self.events) and self.events[end][0] <= due_s:
                end += 1
            self.keeping.feed([one for _, one in self.events[self.fed : end]], self.at(due_s))
            self.fed = end
        self.keeping.clock.reach(self.at_us(upto_s))

    def set_counts(self, at_s: float, key: str, counts: dict[int, float], why: str) -> None:
        """Set winders to other counts, by number."""
        line = self.keeping.mill.find_line(self.card.line_name)
        question = SetQuestion(self.at_us(at_s), LEAD, SOURCE, key, why, counts)
        live = LiveLine(self.keeping.ledger, self.keeping.mill, line.name)
        self.keeping.once(
            key, lambda: set_message(line, question, live.catch_up().state.run)
        )  # fmt: skip

    def carry_over(self) -> None:
        """Set winders as they were found in the run before."""
        rows = {row.lane: row for row in self.card.settings}
        counts = {
            rows[lane].winder: float(round(rows[lane].counts * ratio))
            for lane, ratio in self.settings.ratio.items()
        }
        counts = {
            winder: one for winder, one in counts.items()
            if one != next(row.counts for row in self.card.settings if row.winder == winder)
        }  # fmt: skip
        if counts:
            self.set_counts(
                0.0, f"{self.terms.run} carry", counts,
                CARRIED,
            )  # fmt: skip

    def correct(self, at_s: float) -> None:
        """Weigh up who runs off, set those winders anew, and go on with what they wind then."""
        mill, card = self.keeping.mill, self.card
        line = mill.find_line(card.line_name)
        balls = weighed_balls(
            self.keeping.ledger, line, self.at_us(0.0), self.at_us(at_s), self.drawn.passage_s
        )
        path = self.folder / f"check-{self.terms.run}.csv"
        write_weighed(path, balls)
        found = who_runs_off(mill, card.ball_name, card.lot_name, line.name, path)
        if not found:
            return
        rows = {row.winder: row for row in card.settings}
        for one in found:
            row = rows[int(one.standing.winder)]
            now = round(row.counts * self.settings.ratio.get(row.lane, 1.0))
            side = "heavy" if one.offset_g > 0 else "light"
            why = f"winder {row.winder} runs {abs(one.offset_g):.1f} g {side}"
            key = f"{self.terms.run} correct {row.winder}"
            self.set_counts(at_s, key, {row.winder: float(now + one.counts)}, why)
            self.settings.change(at_s, row.lane, (now + one.counts) / row.counts)
        self.tell()

    def pack(self, number: int, banded: list[float]) -> None:
        """Close a case of balls that were banded at these moments."""
        asked = ToPack(
            self.card.lot_name, self.terms.run, self.card.line_name,
            f"{self.terms.run} case {number}", len(banded), self.at_us(banded[0]) - 1_000,
            self.at_us(banded[-1]) + 1_000, self.order,
        )  # fmt: skip
        self.cases.append(pack_case(self.keeping, asked))

    def end(self, at_s: float, why: str) -> None:
        """End the run."""
        name, key = self.card.line_name, f"{self.terms.run} end"
        question = EndQuestion(self.at_us(at_s), LEAD, SOURCE, key, why)
        live = LiveLine(self.keeping.ledger, self.keeping.mill, name)
        self.keeping.once(key, lambda: end_message(name, question, live.catch_up().state.run))


def start_of(
    keeping: DayKeeping, card: RunCard, start: datetime, order: OrderAsked, key: str
) -> Message:
    """Make the message that starts a run from its card.

    Raises
    ------
    BadInput
        When it may not be started.
    """
    from clew.ledger.runs.start import StartQuestion, start_message
    from clew.ledger.store.reading import records_naming
    from clew.papers.fingerprint import inputs_fingerprint

    mill, line = keeping.mill, card.line_name
    if key in keeping.before:
        record = keeping.before[key]
        return Message(
            record.line, record.kind, record.at_us, record.source, record.key, record.author,
            run=record.run, lot=record.lot, body=record.fields(),
        )  # fmt: skip
    state = LiveLine(keeping.ledger, mill, line).catch_up().state
    question = StartQuestion(
        card.ball_name, card.lot_name, line, round(start.timestamp() * 1e6), LEAD, SOURCE, key,
        card=inputs_fingerprint(mill, card.ball_name, card.lot_name, line),
        note=f"for order {order.number}",
    )  # fmt: skip
    return start_message(
        mill, question, state.run,
        lambda name: bool(list(records_naming(keeping.ledger, "run", name))),
        last_run=state.last_run,
    ).message  # fmt: skip
