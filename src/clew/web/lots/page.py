"""Lots: what is asked of a lot, and the decision on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from clew.checks.packages.rule_sets import plan_of
from clew.checks.weighings import Weighings, drawn, of_lot
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.model import Mill
from clew.mill.net_content import Tables
from clew.quantities import UnitSystem
from clew.web.asked.chosen import NO_LOT, Choice, Choices
from clew.web.asked.limits import fault_for
from clew.web.lots import inputs
from clew.web.lots.chosen import ChosenLot, RuleChoice, choose_lot, choose_rules
from clew.web.lots.files import LotFiles
from clew.web.lots.inputs import SEED, said

if TYPE_CHECKING:
    from clew.checks.attributes.plans import AttributePlan
    from clew.checks.attributes.shade_of_lot import ShadeReading
    from clew.checks.release.lot import LotAnswer, LotQuestion
    from clew.papers.certificate_content import CertificateContent

NO_FILE = "none"
"""What the address says in place of a file of shades that is not to be looked at."""
_SEARCHED = 6
"""So many of the newest files are looked through for the lot where none is named."""
_PLACES = {"lot size": "size", "rule set": "rule", "gross_g": "file", "mass_g": "file"}
"""By what a room calls it: the input that a fault stands beside."""


@dataclass(frozen=True, slots=True)
class Sampling:
    """How the sample comes out of the file.

    Attributes
    ----------
    mode : {"", "random", "file"}
        What was asked; empty leaves it to the file.
    at_random : bool
        Whether the balls were put into random order.
    seed : int
        Seed of that order.
    balls : int
        Balls of the lot in the file.
    first, most : int
        Balls that the rule sets ask for at first, and when they go to their end.
    """

    mode: str
    at_random: bool
    seed: int
    balls: int
    first: int
    most: int


@dataclass(frozen=True, slots=True)
class LotsPage:
    """What the page was asked, with the decision.

    Attributes
    ----------
    chosen : ChosenLot
        What was chosen.
    fields : dict of str to Field
        Inputs by key.
    files, shades, orders : Choices
        Lists to choose from.
    rules : tuple of RuleChoice
        Rule sets, those judged by marked.
    sampling : Sampling or None
        How the sample came about; none without a file.
    lot_size : int
        Balls in the lot; 0 while nobody says and no file holds any.
    plan : AttributePlan or None
        How many balls to look through for faults.
    missing : str
        What there is nothing to judge from, in words; empty when there is.
    faults : tuple of Fault
        What is wrong with the inputs.
    question, answer, paper : LotQuestion, LotAnswer, CertificateContent or None
        The question, its answer, and the certificate; none while something is wrong or missing.
    tables : Tables
        Tables of the rule sets.
    currency : str
        Currency of costs.
    """

    chosen: ChosenLot
    fields: dict[str, inputs.Field]
    files: Choices
    shades: Choices
    orders: Choices
    rules: tuple[RuleChoice, ...]
    sampling: Sampling | None
    lot_size: int
    plan: AttributePlan | None
    missing: str
    faults: tuple[Fault, ...]
    question: LotQuestion | None
    answer: LotAnswer | None
    paper: CertificateContent | None
    tables: Tables
    currency: str

    @property
    def size_said(self) -> bool:
        """Whether the size of the lot was entered; the paper needs it."""
        return bool(self.fields["size"].text)

    @property
    def judged_by(self) -> tuple[str, ...]:
        """Keys of the rule sets that were chosen."""
        return tuple(one.key for one in self.rules if one.chosen)

    def query(self) -> str:
        """Write the question as an address says it, whole."""
        typed = {key: one.text for key, one in self.fields.items() if one.text}
        lists = {one.key: one.value for one in (self.files, self.shades, self.orders) if one.value}
        mode = {"sample": self.sampling.mode} if self.sampling and self.sampling.mode else {}
        pairs = [*(self.chosen.address | lists | mode | typed).items()]
        return urlencode([*pairs, *(("rule", key) for key in self.judged_by)])


def open_lots(
    mill: Mill, asked: Mapping[str, str], rules: Sequence[str], files: LotFiles, units: UnitSystem
) -> LotsPage:
    """Read what is asked of a lot and decide on it.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says; keys as `LOTS_KEYS`.
    rules : sequence of str
        Rule sets, each entry one or several parted by commas; empty takes the ball's own.
    files : LotFiles
        The mill's files of weighings and shades.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    LotsPage
        The question with its answer. What is wrong with an input stands beside it.

    Raises
    ------
    BadInput
        When a ball, dye lot or line is not in the mill file, or the mill's own copy of the tables
        cannot be read.
    """
    return _Opening(mill, asked, rules, files, units).opened()


def warm_lots() -> None:
    """Load what decides on a lot, so that the first page does not wait for it."""
    import clew.checks.release.lot
    import clew.papers.certificate_facts  # noqa: F401


class _Opening:
    """One question, read step by step; what is wrong is gathered."""

    def __init__(
        self,
        mill: Mill,
        asked: Mapping[str, str],
        rules: Sequence[str],
        files: LotFiles,
        units: UnitSystem,
    ) -> None:
        self.mill, self.asked, self.files, self.units = mill, asked, files, units
        self.tables = files.tables()
        self.faults: list[Fault] = []
        self.missing = ""
        self.balls = files.balls(mill)
        self.names = self.balls.names()
        self.chosen, wrong = choose_lot(mill, asked, self._first_weighed)
        self.rules, wrong_rules = choose_rules(mill, self.chosen.ball, rules)
        self.faults += [*wrong, *wrong_rules]

    def opened(self) -> LotsPage:
        file, weighings = self._weighings()
        self._of_run(file.value)
        size = self._whole("size", 0 if weighings is None else weighings.rows, 1, inputs.MOST_LOT)
        plan = None
        if size:
            from clew.checks.release.lot import fault_plan

            plan = fault_plan(self.mill, size)
        sampling = None if weighings is None else self._sampling(weighings, size)
        shades, readings = self._shades()
        orders = self._orders()
        seen, wrong = inputs.inspections(self.asked)
        regain, wrong_regain = inputs.regain(self.asked)
        signed, wrong_names = inputs.names(self.asked)
        self.faults += [*wrong, *wrong_regain, *wrong_names]
        question = answer = paper = None
        if weighings is not None and sampling is not None and not self.faults:
            from clew.checks.release.lot import LotQuestion

            question = LotQuestion(
                self.chosen.ball.name, self.chosen.lot_name, size,
                drawn(weighings, sampling.seed) if sampling.at_random else weighings,
                tuple(one.key for one in self.rules if one.chosen), seen, readings, regain,
                signed["accepted"],
            )  # fmt: skip
            answer, paper = self._decided(question, sampling, file, shades, orders, signed)
        faults = tuple(dict.fromkeys(fault_for(_placed(one), self.units) for one in self.faults))
        own_size = "" if weighings is None else str(weighings.rows)
        return LotsPage(
            self.chosen, self._fields(own_size, faults), file, shades, orders, self.rules,
            sampling, size, plan, self.missing, faults, question if answer else None, answer,
            paper, self.tables, self.mill.prices.currency,
        )  # fmt: skip

    def _first_weighed(self, lots: Sequence[Choice]) -> str:
        """Take the first of a ball's dye lots of which balls were weighed."""
        there = self._lots_in(self.names[:_SEARCHED])
        held = {lot for found in there.values() for lot in found}
        first = next((one.value for one in lots if one.value in held), "")
        return first or (lots[0].value if lots else NO_LOT)

    def _lots_in(self, names: Sequence[str]) -> dict[str, tuple[str, ...]]:
        found = {}
        for name in names:
            with suppress(BadInput):  # a broken file is said where it is chosen
                found[name] = self.balls.lots_in(name)
        return found

    def _of_run(self, file: str) -> None:
        """Take from the ledger what nobody typed: balls of the lot, and the order of its run."""
        try:
            run = self.balls.run(file)
        except BadInput:  # said where it is chosen
            return
        if run is None or run.lot != self.chosen.lot_name:
            return
        own = {"size": str(self.balls.made(file) or ""), "order": run.order}
        self.asked = {
            **self.asked,
            **{key: text for key, text in own.items() if text and not said(self.asked, key)},
        }

    def _weighings(self) -> tuple[Choices, Weighings | None]:
        """Find the file and take the lot's balls out of it."""
        lot, name = self.chosen.lot_name, said(self.asked, "file")
        if not name and self.names:
            there = self._lots_in(self.names[:_SEARCHED])
            name = next((one for one, held in there.items() if lot in held), self.names[0])
        choices = Choices("file", say("Weighings"), self.balls.choices(), name)
        if not name:
            self.missing = say(
                "No file of weighings lies in the mill's folder. Put one there with a row a ball: "
                "columns lot, winder, cone, ball and mass_g, or gross_g and tare_g. Balls that are "
                "weighed during a run stand here by themselves."
            )
            return choices, None
        try:
            weighings = self.balls.read(name)
        except BadInput as bad:
            self.faults += [replace(one, key=one.key or "file") for one in bad.faults]
            return choices, None
        if not {"mass_g", "gross_g"} & set(weighings.numbers):
            self.missing = say(
                "{file} holds no masses: a column mass_g, or gross_g and tare_g.", file=name
            )
            return choices, None
        factor = weighings.factors.get("lot")
        if not lot or factor is None:
            return choices, weighings
        try:
            return choices, of_lot(weighings, lot)
        except BadInput:
            self.missing = say(
                "{file} holds no ball of {lot}. It holds {there}.",
                file=name,
                lot=lot,
                there=", ".join(factor.names[:10]) or say("balls without a lot"),
            )
            return choices, None

    def _sampling(self, weighings: Weighings, size: int) -> Sampling:
        mode = said(self.asked, "sample")
        if mode not in ("", "random", "file"):
            self.faults.append(
                Fault(
                    say("no such sample"),
                    say("random or file"),
                    key="sample",
                    value=repr(mode)[:40],
                )
            )
            mode = ""
        seed = self._whole("seed", SEED, 0, inputs.MOST_SEED)
        first = most = 0
        for rule in self.rules:
            if rule.chosen and size:
                try:
                    mass_g = self.chosen.ball.declared_mass_g
                    plan = plan_of(rule.key, "mass", mass_g, size, self.tables)
                except BadInput:  # what cannot be judged is said by the answer
                    continue
                first, most = max(first, plan.n_required), max(most, plan.n_most)
        at_random = mode == "random" or (mode == "" and weighings.rows > most > 0)
        return Sampling(mode, at_random, seed, weighings.rows, first, most)

    def _shades(self) -> tuple[Choices, tuple[ShadeReading, ...]]:
        """Find the readings of the lot; the file that holds some where none is named."""
        names, name = self.files.shades.names(), said(self.asked, "shade")
        lot = self.chosen.lot_name.casefold()
        readings: tuple[ShadeReading, ...] = ()
        for one in (name,) if name else names[:_SEARCHED]:
            if one == NO_FILE or not lot:
                break
            try:
                readings = self.files.shades.read(one)
            except BadInput as bad:
                if name:
                    self.faults += [replace(each, key=each.key or "shade") for each in bad.faults]
                continue
            if name or any(each.lot.casefold() == lot for each in readings):
                name = one
                break
            readings = ()
        listed = [*(Choice(one, one) for one in names), Choice(NO_FILE, say("none: not looked at"))]
        return Choices("shade", say("Shade readings"), tuple(listed), name or NO_FILE), readings

    def _orders(self) -> Choices:
        ball, colour = self.chosen.ball.name, self.chosen.colour
        fitting = [
            Choice(one.number, f"{one.number}, {one.customer}")
            for one in self.mill.order
            if one.ball == ball and (colour is None or one.colour == colour.name)
        ]
        choices = (Choice("", say("no order named")), *fitting)
        return Choices("order", say("Order it is for"), choices, said(self.asked, "order"))

    def _decided(
        self,
        question: LotQuestion,
        sampling: Sampling,
        file: Choices,
        shades: Choices,
        orders: Choices,
        signed: Mapping[str, str],
    ) -> tuple[LotAnswer | None, CertificateContent | None]:
        from clew.checks.release.lot import lot_answer
        from clew.papers.certificate_content import certificate_content
        from clew.papers.certificate_facts import lot_facts

        used = [file.value, *([shades.value] if question.shades else [])]
        drawn_how = signed["drawn_how"]
        if not drawn_how and sampling.at_random:
            drawn_how = say(
                "at random from {balls} balls weighed, seed {seed} of the order",
                balls=sampling.balls,
                seed=sampling.seed,
            )
        try:
            answer = lot_answer(self.mill, question, self.tables)
            facts = lot_facts(
                self.mill, question, line_name=self.chosen.line.name, order_number=orders.value,
                drawn_how=drawn_how, drawn_by=signed["drawn_by"], drawn_when=signed["drawn_when"],
                files=[self._hashed(name) for name in used], tables=self.tables,
            )  # fmt: skip
        except BadInput as bad:
            self.faults += bad.faults
            return None, None
        sheet = self.mill.mill.paper
        return answer, certificate_content(answer.decision, answer.verdicts, facts, paper=sheet)

    def _hashed(self, name: str) -> tuple[str, str]:
        run = self.balls.run(name)
        if run is None:
            return name, self.files.sha256(name)
        return say("ledger, run {run}", run=run.name), self.balls.sha256(name)

    def _whole(self, key: str, own: int, least: int, most: int) -> int:
        value, faults = inputs.whole(self.asked, key, own, least, most)
        self.faults += faults
        return value

    def _fields(self, own_size: str, faults: Sequence[Fault]) -> dict[str, inputs.Field]:
        words = {
            "size": say("Balls in the lot"),
            "seed": say("Seed"),
            "regain": say("Regain at weighing"),
        }
        words |= {key: say("looked at") for key in inputs.OF_FAULTS if key.endswith("looked")}
        words |= {key: say("at fault") for key in inputs.OF_FAULTS if key.endswith("found")}
        own = {"size": own_size, "seed": str(SEED)}
        wrong: dict[str, str] = {}
        for fault in faults:
            text = joined(": ", [part for part in (fault.what, fault.expected) if part])
            before = wrong.get(fault.key)
            wrong[fault.key] = text if before is None else joined("; ", (before, text))
        return {
            key: inputs.Field(
                key, label, said(self.asked, key)[:200], own.get(key, ""), wrong.get(key, "")
            )
            for key, label in (words | inputs.SIGNED).items()
        }


def _placed(fault: Fault) -> Fault:
    """Put a fault of a room under the input that it is about."""
    key = f"{fault.key}_looked" if fault.key in inputs.LOOKED_FOR else fault.key
    return replace(fault, key=_PLACES.get(key, key))
