"""Creel: what the yarn is now, and what it will be when it has been steamed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from clew.ball.run_card import blend_words
from clew.ball.yarn_answer import YarnAnswer, yarn_answer
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.lots import Colour, DyeLot
from clew.mill.model import Mill
from clew.mill.yarns import FibreBlend, Yarn
from clew.quantities import FRACTION, GAIN, UnitSystem
from clew.strand.fibres import fibre
from clew.web.asked.chosen import Choice, lots_for
from clew.web.asked.entries import Asked, Entry, read_entries
from clew.web.asked.limits import fault_for

COUNT = Asked("count", "count_spun_tex", say("Count as it comes"), "count", 0.1)
COUNT_OF_LOT = Asked("count", "count_measured_tex", say("Count as it comes"), "count", 0.1)
REGAIN_IN = Asked("regain_in", "regain_in_frac", say("Regain as it comes"), GAIN, 0.5)
REGAIN_IN_OF_LOT = Asked("regain_in", "regain_measured_frac", say("Regain as it comes"), GAIN, 0.5)
SHRINK = Asked("shrink", "shrink_frac", say("Shrink in steam"), FRACTION, 0.4)
REGAIN_OUT = Asked("regain_out", "regain_out_frac", say("Regain off the dryer"), GAIN, 0.5)
FINISH_LOSS = Asked("finish_loss", "finish_loss_frac", say("Finish lost in steam"), FRACTION, 1.0)
ORDER = ("count", "shrink", "regain_in", "regain_out", "finish_loss")
"""Order of the inputs on the page, most asked for first."""
CREEL_KEYS = ("of", *ORDER)
"""Everything that can be asked of a yarn."""


@dataclass(frozen=True, slots=True)
class ChoiceGroup:
    """The dye lots of one yarn, with the yarn itself first."""

    words: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Creel:
    """What the page was asked, with its answer.

    Attributes
    ----------
    groups : tuple of ChoiceGroup
        What can be chosen.
    chosen : str
        What was.
    yarn, blend, dye_lot, colour
        What that is in the mill file, with what was typed in place.
    blend_words, annex_words : str
        The blend in everyday words, and its fibres as the table of allowances names them.
    entries : tuple of Entry
        Inputs to try.
    faults : tuple of Fault
        What is wrong with them.
    answer : YarnAnswer or None
        The answer; none while something is wrong.
    """

    groups: tuple[ChoiceGroup, ...]
    chosen: str
    yarn: Yarn
    blend: FibreBlend
    dye_lot: DyeLot | None
    colour: Colour | None
    blend_words: str
    annex_words: str
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    answer: YarnAnswer | None

    @property
    def name(self) -> str:
        """Name of what stands on the creel."""
        return self.yarn.name if self.dye_lot is None else self.dye_lot.lot


def choice_groups(mill: Mill) -> tuple[ChoiceGroup, ...]:
    """List every yarn with its dye lots, in the order of the mill file."""
    groups = []
    for yarn in mill.yarn:
        *lots, as_spun = lots_for(mill, yarn.name)
        choices = [Choice(f"lot:{one.value}", one.words) for one in lots]
        choices.append(Choice(f"yarn:{yarn.name}", as_spun.words))
        groups.append(ChoiceGroup(yarn.name, tuple(choices)))
    return tuple(groups)


def open_creel(mill: Mill, asked: Mapping[str, str], units: UnitSystem) -> Creel:
    """Answer the page.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says: ``of`` and the inputs to try.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    Creel
        The page's content.

    Raises
    ------
    BadInput
        When what was chosen is not in the mill file.
    """
    groups = choice_groups(mill)
    chosen = asked.get("of", "").strip() or groups[0].choices[0].value
    yarn, dye_lot, colour = _chosen(mill, chosen)
    of_yarn: list[Asked] = [SHRINK, REGAIN_OUT, FINISH_LOSS]
    of_lot: list[Asked] = []
    measured = dye_lot is not None and dye_lot.count_measured_tex is not None
    regain_measured = measured and dye_lot is not None and dye_lot.regain_measured_frac is not None
    (of_lot if measured else of_yarn).append(COUNT_OF_LOT if measured else COUNT)
    (of_lot if regain_measured else of_yarn).append(
        REGAIN_IN_OF_LOT if regain_measured else REGAIN_IN
    )
    tried_yarn, entries, faults = read_entries(of_yarn, yarn, asked, units)
    assert isinstance(tried_yarn, Yarn)
    tried_lot = dye_lot
    if dye_lot is not None and of_lot:
        read_lot, more, others = read_entries(of_lot, dye_lot, asked, units)
        assert isinstance(read_lot, DyeLot)
        tried_lot, entries, faults = read_lot, entries + more, faults + others
    answer = None
    blend = mill.find_blend(yarn.blend)
    if not faults:
        try:
            answer = yarn_answer(tried_yarn, blend, tried_lot)
        except BadInput as bad:
            faults = tuple(fault_for(fault, units) for fault in bad.faults)
    return Creel(
        groups=groups,
        chosen=chosen,
        yarn=tried_yarn,
        blend=blend,
        dye_lot=tried_lot,
        colour=colour,
        blend_words=blend_words(blend),
        annex_words=joined("; ", (fibre(part.fibre).title for part in blend.fibres)),
        entries=tuple(sorted(entries, key=lambda entry: ORDER.index(entry.key))),
        faults=faults,
        answer=answer,
    )


def _chosen(mill: Mill, chosen: str) -> tuple[Yarn, DyeLot | None, Colour | None]:
    kind, _, name = chosen.partition(":")
    if kind == "lot":
        colour, dye_lot = mill.find_dye_lot(name)
        return mill.find_yarn(dye_lot.yarn), dye_lot, colour
    if kind == "yarn":
        return mill.find_yarn(name), None, None
    raise BadInput(
        Fault(
            say("neither a dye lot nor a yarn"),
            expected=say("lot: or yarn: with its name, such as lot:SL-207"),
            key="of",
            value=repr(chosen[:80]),
        )
    )
