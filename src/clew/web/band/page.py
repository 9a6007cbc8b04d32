"""Band: what the winders do now, and what to change; what the page was asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from urllib.parse import urlencode

import numpy as np

from clew.checks.weighings import Weighings, of_lot
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.balls import Ball
from clew.mill.model import Mill
from clew.quantities import MASS, UnitSystem
from clew.web.asked.chosen import Choice, Choices, Chosen, choose, mill_with
from clew.web.asked.entries import Asked, Entry, read_entries, with_faults
from clew.web.asked.limits import fault_for
from clew.web.band.files import WeighingFiles
from clew.web.band.weighed import WeighedBalls
from clew.web.files_beside import Stamp
from clew.web.run.weighings import WeighedRun

ALL_LOTS = "all"
VALUES = {"mass": say("Mass"), "length": say("Length")}
KINDS = {
    "xbar-s": say("Group means"),
    "individuals": say("Single balls"),
    "ewma": say("EWMA"),
    "cusum": say("CUSUM"),
}
"""Charts that can be chosen, as the page calls them."""

TARGET = Asked("target_mass", "target_mass_g", say("Target mass"), MASS, 0.03)
PRICE = Asked("yarn_per_kg", "yarn_per_kg", say("Yarn, a kg"), "number", 0.5)
CHANGE = Asked("weigh_each", "weigh_each", say("A change costs"), "number", 1.0)
OF_BALL, OF_PRICES = (TARGET,), (PRICE, CHANGE)
INPUTS = tuple(one.key for one in (*OF_BALL, *OF_PRICES))
CHOICES = ("file", "ball", "lot", "line")
PICTURE = ("value", "chart", "winder")
BAND_KEYS = (*CHOICES, *PICTURE, *INPUTS, "law")
"""Everything that can be asked of Band."""

_LIKELY = 0.2
"""A mean ball farther than this from its declaration is of another ball [-]."""


@dataclass(frozen=True, slots=True)
class BandPage:
    """What the page was asked, with the balls it is asked about.

    Attributes
    ----------
    chosen : Chosen
        What was chosen, with what was typed in place.
    file : str
        The file; empty where the mill's folder holds none.
    stamp : Stamp or None
        Which state of the file.
    lot : str
        The dye lot of the file; empty for all.
    value, kind, winder : str
        What is charted, on which chart, and whose chart is large; no winder where none was named.
    entries : tuple of Entry
        Inputs to try.
    faults : tuple of Fault
        What is wrong with them.
    file_faults : tuple of Fault
        What is wrong with the file.
    mill, tried : Mill
        The mill, as its file has it and with what was typed in place.
    balls : Weighings or None
        The balls of the lot; none while something is wrong with the file.
    lots : tuple of str
        Dye lots of the file, in the order they first stand in it.
    notes : tuple of str
        What was taken otherwise than it was asked.
    clocks : bool
        Whether the file tells times of day.
    run : WeighedRun or None
        The run whose balls they are, by the ledger; None for a file.
    """

    chosen: Chosen
    file: str
    stamp: Stamp | None
    lot: str
    value: str
    kind: str
    winder: str
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    file_faults: tuple[Fault, ...]
    mill: Mill
    tried: Mill
    balls: Weighings | None
    lots: tuple[str, ...]
    notes: tuple[str, ...] = ()
    clocks: bool = False
    run: WeighedRun | None = None

    @property
    def kept(self) -> dict[str, str]:
        """What goes along unseen: how the picture is drawn."""
        kept = {"winder": self.winder} if self.winder else {}
        kept |= {"value": self.value} if self.value != "mass" else {}
        return kept | ({"chart": self.kind} if self.kind != _usual(self.value) else {})

    @property
    def moved(self) -> dict[str, str]:
        """What was typed and differs from the mill file."""
        return {one.key: one.text for one in self.entries if one.moved}

    @property
    def subject(self) -> str:
        """What was chosen, in words."""
        name, line = self.chosen.ball.name, self.chosen.line.name
        if not self.file:
            return f"{name}, {line}"
        lot = say("dye lot {lot}", lot=self.lot) if self.lot else say("all dye lots")
        source = self.file if self.run is None else say("run {run}", run=self.run.name)
        return joined(": ", (source, joined(", ", (name, lot, line))))

    @property
    def balls_key(self) -> tuple[object, ...]:
        """Which balls are asked about."""
        return self.file, self.stamp, self.lot

    def query(self, **other: str) -> str:
        """Write the question as an address says it, with something else in place."""
        said = self.chosen.address | self.kept | self.moved | other
        return urlencode({key: text for key, text in said.items() if text})


def open_band(
    mill: Mill, files: WeighingFiles | WeighedBalls, asked: Mapping[str, str], units: UnitSystem
) -> BandPage:
    """Read what is asked of the winders.

    Parameters
    ----------
    mill : Mill
        The mill.
    files : WeighingFiles or WeighedBalls
        The files of weighings in its folder, and the weighed runs of its ledger.
    asked : mapping of str to str
        What the address says; keys as `BAND_KEYS`.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    BandPage
        The question with its balls. What is wrong with an input or in the file stands in it.

    Raises
    ------
    BadInput
        When a ball, line, chart or file is named that is not there.
    """
    if isinstance(files, WeighingFiles):
        files = WeighedBalls(files)
    names = files.choices()
    file = _said(asked, "file") or next((one.value for one in names), "")
    run = files.run(file)
    whole, stamp, wrong, clocks = _read(files, file)
    lots = () if whole is None or "lot" not in whole.factors else whole.factors["lot"].names
    lot, notes = _said(asked, "lot") or ("" if run is None else run.lot), []
    lot = "" if lot == ALL_LOTS else lot
    if lot and whole is not None and lot not in lots:
        notes.append(
            say(
                "No ball of dye lot {lot} is in {file}: all its lots are shown.",
                lot=lot[:40],
                file=file,
            )
        )
        lot = ""
    balls = whole
    if lot and whole is not None:
        balls = of_lot(whole, lot)
    chosen = _chosen(mill, _of_run(asked, run), names, (file, lot, lots), whole)
    ball = chosen.ball
    stands_for = {TARGET.field: ball.declared_mass_g}
    tried_ball, entries, faults = read_entries(OF_BALL, ball, asked, units, stands_for=stands_for)
    prices = mill.prices
    of_prices = (
        replace(PRICE, words=say("Yarn, {currency} a kg", currency=prices.currency)),
        CHANGE,
    )
    tried_prices, more, others = read_entries(of_prices, prices, asked, units)
    assert isinstance(tried_ball, Ball)
    tried = mill_with(mill, ball=(ball, tried_ball)).model_copy(update={"prices": tried_prices})
    faults = tuple(fault_for(one, units) for one in faults + others)
    value = _one_of(asked, "value", tuple(VALUES), "mass")
    if balls is not None:
        notes += _of_another_ball(balls, tried_ball)
    return BandPage(
        chosen=replace(chosen, ball=tried_ball),
        file=file,
        stamp=stamp,
        lot=lot,
        value=value,
        kind=_one_of(asked, "chart", tuple(KINDS), _usual(value)),
        winder=_winder(asked, balls, notes),
        entries=with_faults(entries + more, faults),
        faults=faults,
        file_faults=wrong,
        mill=mill,
        tried=tried,
        balls=balls,
        lots=lots,
        notes=tuple(notes),
        clocks=clocks,
        run=run,
    )


def _of_run(asked: Mapping[str, str], run: WeighedRun | None) -> Mapping[str, str]:
    """Take ball and line of the run where the address says no other."""
    if run is None:
        return asked
    own = {"ball": run.ball_name, "line": run.line}
    return {**asked, **{key: text for key, text in own.items() if text and not _said(asked, key)}}


def _read(
    files: WeighedBalls, file: str
) -> tuple[Weighings | None, Stamp | None, tuple[Fault, ...], bool]:
    """Read the file; one that is not there is a fault of the address, not of the file."""
    if not file:
        return None, None, (), False
    stamp = files.stamp(file)
    try:
        return files.read(file), stamp, (), files.clocks(file)
    except BadInput as bad:
        return None, stamp, bad.faults, False


def _chosen(
    mill: Mill,
    asked: Mapping[str, str],
    names: Sequence[Choice],
    of_file: tuple[str, str, tuple[str, ...]],
    whole: Weighings | None,
) -> Chosen:
    """Find ball and line by the mill file, and file and dye lot by what lies there."""
    file, lot, lots = of_file
    said = dict(asked)
    if not _said(asked, "ball") and whole is not None:
        said["ball"] = _likely(mill, whole, lots)
    known = {one.lot for colour in mill.colour for one in colour.dye_lot}
    said["lot"] = lot if lot in known else "none"
    found = choose(mill, said)
    there = {one.key: one for one in found.offers}
    lots_offered = (Choice(ALL_LOTS, say("all")), *(Choice(one, one) for one in lots))
    offers = (
        Choices("file", say("Weighings"), tuple(names), file),
        there["ball"],
        Choices("lot", say("Dye lot"), lots_offered, lot or ALL_LOTS),
        there["line"],
    )
    return replace(found, offers=offers if names else offers[1:])


def _likely(mill: Mill, whole: Weighings, lots: Sequence[str]) -> str:
    """Take the ball whose declaration is nearest, among those of the yarn of the file's lots."""
    yarns = {one.yarn for colour in mill.colour for one in colour.dye_lot if one.lot in lots} or {
        one.yarn for one in mill.ball
    }
    mean = _mean(whole)
    fitting = [one for one in mill.ball if one.yarn in yarns]
    if mean is None or not fitting:
        return (fitting or list(mill.ball))[0].name
    quantity, value = mean
    return min(fitting, key=lambda one: abs(_declared(one, quantity) / value - 1.0)).name


def _declared(ball: Ball, quantity: str) -> float:
    return ball.declared_mass_g if quantity == "mass" else ball.declared_length_m


def _mean(balls: Weighings) -> tuple[str, float] | None:
    for column, quantity in (("mass_g", "mass"), ("gross_g", "mass"), ("length_m", "length")):
        values = balls.numbers.get(column)
        if values is not None and np.isfinite(values).any():
            return quantity, float(np.nanmedian(values))
    return None


def _of_another_ball(balls: Weighings, ball: Ball) -> list[str]:
    mean = _mean(balls)
    if mean is None or abs(mean[1] / _declared(ball, mean[0]) - 1.0) <= _LIKELY:
        return []
    return [
        say(
            "The balls of this file are far from what {ball} declares: is it another ball?",
            ball=ball.name,
        )
    ]


def _winder(asked: Mapping[str, str], balls: Weighings | None, notes: list[str]) -> str:
    name = _said(asked, "winder")
    if not name or balls is None:
        return name[:40]
    there = balls.factors.get("winder")
    if there is None or name not in there.names:
        notes.append(say("No ball of winder {winder} is in this file.", winder=name[:40]))
        return ""
    return name


def _usual(value: str) -> str:
    """The chart that is drawn where none is asked for: few balls are reeled, so each is a point."""
    return "xbar-s" if value == "mass" else "individuals"


def _one_of(asked: Mapping[str, str], key: str, known: tuple[str, ...], usual: str) -> str:
    text = _said(asked, key)
    if not text:
        return usual
    if text not in known:
        raise BadInput(
            Fault(say("cannot be chosen"), ", ".join(known), key=key, value=repr(text)[:80])
        )
    return text


def _said(asked: Mapping[str, str], key: str) -> str:
    return asked.get(key, "").strip()
