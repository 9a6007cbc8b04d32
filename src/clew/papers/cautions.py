"""What can hurt a hand at this line, in words read in seconds, the mill's own rules first.

A caution tells what to do; none tells that a thing is without danger, and none replaces a rule.
"""

from __future__ import annotations

from dataclasses import dataclass

from clew.mill.lines import Line
from clew.mill.model import Safety
from clew.papers import floor_numbers as floor
from clew.quantities import NOISE, UnitSystem, show

DEFERRAL = (
    "Local rules come first: this card does not replace the law, the mill's own rules, the makers' "
    "instructions or the work of licensed people. Where they differ from this card, follow them "
    "and tell the lead."
)
"""The closing line of every card."""

OFFER_PROTECTORS_DBA = 80.0
"""Lower action value of Directive 2003/10/EC, 8 h [dB(A)] (MEMORY)."""
WEAR_PROTECTORS_DBA = 85.0
"""Action level of 29 CFR 1910.95 (READ), upper action value of 2003/10/EC (MEMORY), 8 h [dB(A)]."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution.

    Attributes
    ----------
    title : str
        What it is about, in one to three words.
    text : str
        What to do.
    source : str
        What it rests on, with its mark; for the manual, not for the card.
    """

    title: str
    text: str
    source: str


def cautions(safety: Safety, line: Line, units: UnitSystem = "metric") -> tuple[Caution, ...]:
    """Write the cautions of a line, in the order a hand needs them.

    Parameters
    ----------
    safety : Safety
        The mill's own rules and limits.
    line : Line
        The line the card is for.
    units : {"metric", "yard"}
        System of units to print in.

    Returns
    -------
    tuple of Caution
        The mill's own rules, then steam, wraps, moving parts, power cuts, a stopped belt, the
        dryer, lifting, noise where it was measured, floor and pipes, boiler.

    Notes
    -----
    Numbers are those of the mill file, none is worked out here. Source: each caution's own note.
    """
    own = tuple(
        Caution("This mill's rule", rule, "the mill file, [safety] local_rules")
        for rule in safety.local_rules
    )
    return (
        *own,
        _steam(safety, line, units),
        _wrap(safety),
        Caution(
            "Moving parts",
            "Guards on. No gloves, rings, loose sleeves or loose hair near rollers, chains, fans "
            "or running yarn.",
            "29 CFR 1910.212(a)(1), 1910.219 (MEMORY); common practice, no published source, for "
            "gloves and hair",
        ),
        Caution(
            "Power cut",
            "Switch off and shut the steam valve. Start by hand, when all are clear. If a machine "
            "starts by itself, stop it and tell the lead.",
            "29 CFR 1910.262(c)(1), no automatic restart (READ)",
        ),
        _belt(line, units),
        _dryer(line, units),
        _lifting(safety, units),
        *_noise(safety),
        Caution(
            "Floor and pipes",
            "Mop wet floor at once. Report bare, wet or torn lagging; do not touch it.",
            "29 CFR 1910.262(c)(9), hot pipes within 7 ft guarded (READ); common practice, no "
            "published source, for the floor",
        ),
        Caution(
            "Boiler",
            "Boiler, steam pressure, relief valves, pressure pipes: authorised persons only.",
            "boiler and pressure rules of the place (MEMORY); this card sizes and sets nothing",
        ),
    )


def _steam(safety: Safety, line: Line, units: UnitSystem) -> Caution:
    # steam at the gauge's pressure is hotter than the belt's: the two must not be read together
    gauge = ""
    if safety.steam_gauge_kpa is not None:
        supply = floor.pressure(safety.steam_gauge_kpa, units)
        gauge = f"; {supply} on the supply gauge, hotter there"
    heat = floor.temperature(line.steam_temperature_c, units)
    return Caution(
        "Steam burns",
        f"Steam ({heat} in the steamer{gauge}) cannot be seen at the nozzle: keep hands, "
        "face and sleeves away from the slots. Steam off and vented before you thread or clear. "
        "Yarn and drips scald. "
        f"Burnt: cold running water at once, then first aid: {safety.first_aid}.",
        "condensing steam gives up far more heat than water as hot (DERIVED); ASTM C1055, 5 s of "
        "contact (READ); common practice, no published source, for first aid",
    )


def _wrap(safety: Safety) -> Caution:
    keys = f" All {safety.lock_out_keys} lock-outs." if safety.lock_out_keys > 1 else ""
    return Caution(
        "Wrap or jam",
        f"Stop. Lock. Tag.{keys} Vent steam and air; let it cool. Try the start: it must be dead. "
        "Only then open a guard or reach in.",
        "29 CFR 1910.147(d), the order of lock-out, stored energy, verifying (READ)",
    )


def _belt(line: Line, units: UnitSystem) -> Caution:
    longest = floor.longest(line.longest_dwell_s)
    steamer = floor.belt_length(line.steamer_length_m, units)
    return Caution(
        "Belt stopped",
        f"Close the steam at once. Yarn in steam for more than {longest} "
        f"in all, time before the stop counted: pull all {steamer} "
        "in the steamer, with the steam vented; it is second-quality.",
        "the mill file, [[line]] longest_dwell and steamer_length; common practice, no published "
        "source",
    )


def _dryer(line: Line, units: UnitSystem) -> Caution:
    return Caution(
        "Hot dryer",
        f"Air at {floor.temperature(line.dryer_temperature_c, units)}. Clear lint from filters and "
        "ducts every shift. Smell or smoke: heat and fans off, doors shut, call. Never leave it "
        "hot with yarn in it.",
        "lint in hot ducts burns, OSHA Hazard Information Bulletin of 6 October 1998 on fibre dust "
        "(READ); common practice, no published source, for the doors",
    )


def _lifting(safety: Safety, units: UnitSystem) -> Caution:
    if safety.heaviest_lift_g is None:
        most = "Ask the lead for the heaviest lift this mill allows."
    else:
        most = f"One person: {floor.lift(safety.heaviest_lift_g, units)} at most."
    return Caution(
        "Cones and cases",
        f"{most} More: two people or a lift table. Load close to you, turn your feet and not your "
        "back, take turns: heat makes it harder.",
        "the mill file, [safety] heaviest_lift; NIOSH 94-110, revised lifting equation, not valid "
        "in this heat (READ)",
    )


def _noise(safety: Safety) -> tuple[Caution, ...]:
    if safety.noise_dba is None:
        return ()
    level = f"{show(safety.noise_dba, NOISE, digits=3)} measured here."
    if safety.noise_dba >= WEAR_PROTECTORS_DBA:
        text = f"{level} Wear ear protectors."
    elif safety.noise_dba >= OFFER_PROTECTORS_DBA:
        text = f"{level} Ear protectors are there for you: wear them."
    else:
        text = f"{level} If it grows louder, tell the lead."
    source = (
        "29 CFR 1910.95, action level 85 dB(A) (READ); Directive 2003/10/EC, 80 and 85 dB(A) "
        "(MEMORY)"
    )
    return (Caution("Noise", text, source),)
