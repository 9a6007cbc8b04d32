"""Band's answer from the rooms: who drifted, what varies, charts; each kept while it holds."""

from __future__ import annotations

from dataclasses import dataclass, replace

from clew.checks.charts.chart import Chart
from clew.checks.charts.charting import ChartTerms
from clew.checks.components.components import Components
from clew.checks.components.drift_from_mill import DriftTerms
from clew.checks.components.drifted import Drifted
from clew.checks.components.lots_apart import LotsApart
from clew.checks.components.shift_change import ShiftChange
from clew.checks.components.unreel import Unreeling
from clew.checks.condition import Condition
from clew.checks.weighings import Weighings
from clew.faults import BadInput, Fault
from clew.languages import joined
from clew.mill.model import Mill
from clew.web.band.files import weighing_files
from clew.web.band.kept import Kept
from clew.web.band.page import BandPage, open_band
from clew.web.mill_on_disk import MillOnDisk

GROUP = 5
"""Balls in a group, as they come, where the file names no groups."""
SOURCES = ("lot", "cone", "winder")


@dataclass(frozen=True, slots=True)
class WinderChart:
    """The chart of one winder, or of all balls where winders are not named.

    Attributes
    ----------
    winder : str
        The winder; empty for all balls.
    chart : Chart
        Its chart.
    clocks : tuple of str
        Time of day of each group's first ball; empty where the file tells none.
    false_call_groups : float or None
        Groups from one false call to the next.
    """

    winder: str
    chart: Chart
    clocks: tuple[str, ...]
    false_call_groups: float | None


@dataclass(frozen=True, slots=True)
class Charts:
    """All charts of a page.

    Attributes
    ----------
    key : tuple
        Tells these charts from any other.
    each : tuple of WinderChart
        By winder.
    refused : dict of str to str
        Winders that bear no such chart, and why.
    condition : str
        At what condition the values are, in a sentence.
    cautions : tuple of str
        What was left out.
    """

    key: tuple[object, ...]
    each: tuple[WinderChart, ...]
    refused: dict[str, str]
    condition: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Drift:
    """Who drifted, as far as the balls tell.

    Attributes
    ----------
    found : Drifted
        The answer.
    terms : DriftTerms
        Targets and prices it was worked out with.
    unreel : Unreeling or None
        How many balls of a winder to unreel a shift.
    lots : LotsApart or None
        The dye lot that runs beside the one before.
    change : ShiftChange or None
        What moved from the one lot to the other.
    condition : str
        At what condition mass and length are.
    """

    found: Drifted
    terms: DriftTerms
    unreel: Unreeling | None
    lots: LotsApart | None
    change: ShiftChange | None
    condition: str


_charts: Kept[Charts] = Kept(24)
_balls_say: Kept[Drift] = Kept(16)
_terms: Kept[DriftTerms] = Kept(64)
_parts: Kept[Components] = Kept(16)


def drift_of(page: BandPage) -> tuple[Drift | None, tuple[Fault, ...]]:
    """Find who drifted; or say why that cannot be told.

    Parameters
    ----------
    page : BandPage
        What was asked.

    Returns
    -------
    Drift or None
        The answer.
    tuple of Fault
        What is in its way.
    """
    balls = page.balls
    if balls is None or page.faults:
        return None, ()
    try:
        own = _balls_say.of(
            ("drift", *page.balls_key, page.mill, *_names(page)),
            lambda: _drift(page, balls, _terms_of(page, page.mill, balls)),
        )
        terms = _terms_of(page, page.tried, balls)
        from clew.checks.components.drift_from_mill import aimed_anew

        return replace(own, found=aimed_anew(own.found, terms), terms=terms), ()
    except BadInput as bad:
        return None, bad.faults


def _names(page: BandPage) -> tuple[str, str, str]:
    return page.chosen.ball.name, page.chosen.lot_name, page.chosen.line.name


def _stated(page: BandPage) -> Condition:
    """Mass as weighed; the ball's own tare where the file has gross mass and none."""
    return Condition(tare_g=page.chosen.ball.tare_mass_g)


def _terms_of(page: BandPage, mill: Mill, balls: Weighings) -> DriftTerms:
    from clew.checks.components.drift_from_mill import drift_terms

    winder = balls.factors.get("winder")
    names = () if winder is None else winder.names
    asked = (mill, *_names(page), names)
    return _terms.of(asked, lambda: drift_terms(mill, *_names(page), names))


def _drift(page: BandPage, balls: Weighings, terms: DriftTerms) -> Drift:
    from clew.checks.components.drift_from_mill import unreel_for
    from clew.checks.components.drifted import who_drifted
    from clew.checks.components.lots_apart import lots_apart
    from clew.checks.condition import net_mass
    from clew.checks.reel_length import stated_length

    mass_g, condition = net_mass(balls, _stated(page))
    length_m = None
    if "length_m" in balls.numbers:
        length_m, words, cautions = stated_length(balls, terms.reel_terms)
        condition = joined(" ", (condition, words, *cautions))
    found = who_drifted(
        balls, mass_g, terms.counts, terms.aim, length_m=length_m, ahead=terms.balls_ahead
    )
    lots = change = None
    try:
        lots = lots_apart(balls, mass_g, length_m)
        change = None if lots is None else _change(page, balls, lots)
    except BadInput:
        pass  # too few balls of a lot to compare: the winders are told all the same
    return Drift(found, terms, unreel_for(found, terms), lots, change, condition)


def _change(page: BandPage, balls: Weighings, lots: LotsApart) -> ShiftChange:
    from clew.checks.components.shift_change import shift_change
    from clew.checks.condition import net_mass
    from clew.checks.weighings import of_lot

    before, after = of_lot(balls, lots.before), of_lot(balls, lots.after)
    stated = _stated(page)
    return shift_change(before, after, net_mass(before, stated)[0], net_mass(after, stated)[0])


def parts_of(page: BandPage, drift: Drift | None) -> tuple[Components | None, tuple[Fault, ...]]:
    """Find what varies in the value that is charted; or say why that cannot be told.

    Parameters
    ----------
    page : BandPage
        What was asked.
    drift : Drift or None
        Who drifted, as `drift_of` says.

    Returns
    -------
    Components or None
        The answer.
    tuple of Fault
        What is in its way.
    """
    balls = page.balls
    if balls is None:
        return None, ()
    if page.value == "mass" and drift is not None:
        return drift.found.components, ()
    try:
        return _parts.of(
            ("parts", *page.balls_key, page.value, _stated(page).tare_g),
            lambda: _what_varies(page, balls),
        ), ()
    except BadInput as bad:
        return None, bad.faults


def _what_varies(page: BandPage, balls: Weighings) -> Components:
    from clew.checks.components.components import components
    from clew.checks.condition import net_mass
    from clew.checks.reel_length import stated_length

    wanted = [name for name in SOURCES if name in balls.factors]
    if page.value == "mass":
        return components(net_mass(balls, _stated(page))[0], balls.factors, wanted)
    return components(stated_length(balls)[0], balls.factors, wanted, name="length", unit="m")


def chart_terms(page: BandPage) -> ChartTerms:
    """What chart is drawn."""
    return ChartTerms(kind=page.kind)


def charts_of(page: BandPage) -> tuple[Charts | None, tuple[Fault, ...]]:
    """Chart every winder; or say why none can be."""
    balls = page.balls
    if balls is None:
        return None, ()
    key = ("charts", *page.balls_key, page.value, page.kind, _stated(page).tare_g)
    try:
        return _charts.of(key, lambda: _chart_all(page, balls, key)), ()
    except BadInput as bad:
        return None, bad.faults


def _chart_all(page: BandPage, balls: Weighings, key: tuple[object, ...]) -> Charts:
    from clew.checks.charts.balls import balls_of, grouped, one_by_one
    from clew.checks.charts.charting import chart_of
    from clew.checks.charts.false_calls import false_call_groups

    by = "winder" if "winder" in balls.factors else "all"
    taken = balls_of(
        balls, page.value, by, use_groups=True, clocks=page.clocks, stated=_stated(page)
    )
    if page.kind == "individuals":
        taken = one_by_one(taken)
    size = 1 if page.kind == "individuals" else GROUP
    terms = chart_terms(page)
    each, refused = [], {}
    makers = range(len(taken.maker_names)) if by == "winder" else [None]
    for maker in makers:
        if maker is not None and (taken.makers is None or not (taken.makers == maker).any()):
            continue
        name = "" if maker is None else taken.maker_names[maker]
        mine = grouped(taken, size, maker=maker)
        try:
            chart = chart_of(mine.values, mine.places, terms, mine.cones)
        except BadInput as bad:
            if maker is None:
                raise
            refused[name] = bad.faults[0].what
            continue
        chart = replace(chart, groups=mine.names, cautions=chart.cautions + mine.cautions)
        each.append(WinderChart(name, chart, mine.clocks, false_call_groups(chart, terms)))
    each.sort(key=lambda one: in_order(one.winder))
    return Charts(key, tuple(each), refused, taken.condition, taken.cautions)


def warm_band(mill: MillOnDisk) -> None:
    """Work the first file out, so that the first page does not wait for it.

    Parameters
    ----------
    mill : MillOnDisk
        The mill; one that cannot be read is left to the pages to say so.
    """
    try:
        page = open_band(mill.read().mill, weighing_files(mill.folder), {}, "metric")
    except BadInput:
        return
    drift_of(page)
    charts_of(page)


def in_order(winder: str) -> tuple[bool, int, str]:
    """Sort winders by their numbers."""
    return not winder.isdecimal(), int(winder) if winder.isdecimal() else 0, winder
