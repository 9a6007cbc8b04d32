"""What can hurt a hand at this line, in words read in seconds, the mill's own rules first.

A caution tells what to do; none tells that a thing is without danger, and none replaces a rule.
"""

from __future__ import annotations

from dataclasses import dataclass

from clew.languages import say
from clew.mill.lines import Line
from clew.mill.model import Safety
from clew.papers import floor_numbers as floor
from clew.quantities import NOISE, UnitSystem, show

DEFERRAL = say(
    "Local rules come first: this card does not replace the law, the mill's "
    "own rules, the makers' instructions or the work of licensed people. Where "
    "they differ from this card, follow them and tell the lead."
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
        Caution(say("This mill's rule"), rule, "the mill file, [safety] local_rules")
        for rule in safety.local_rules
    )
    return (
        *own,
        _steam(safety, line, units),
        _wrap(safety),
        Caution(
            say("Moving parts"),
            say(
                "Guards on. No gloves, rings, loose sleeves or loose hair near rollers, "
                "chains, fans or running yarn."
            ),
            "29 CFR 1910.212(a)(1), 1910.219 (MEMORY); common practice, no published "
            "source, for gloves and hair",
        ),
        Caution(
            say("Power cut"),
            say(
                "Switch off and shut the steam valve. Start by hand, when all are clear. "
                "If a machine starts by itself, stop it and tell the lead."
            ),
            "29 CFR 1910.262(c)(1), no automatic restart (READ)",
        ),
        _belt(line, units),
        _dryer(line, units),
        _lifting(safety, units),
        *_noise(safety),
        Caution(
            say("Floor and pipes"),
            say("Mop wet floor at once. Report bare, wet or torn lagging; do not touch it."),
            "29 CFR 1910.262(c)(9), hot pipes within 7 ft guarded (READ); common "
            "practice, no published source, for the floor",
        ),
        Caution(
            say("Boiler"),
            say("Boiler, steam pressure, relief valves, pressure pipes: authorised persons only."),
            "boiler and pressure rules of the place (MEMORY); this card sizes and sets nothing",
        ),
    )


def _steam(safety: Safety, line: Line, units: UnitSystem) -> Caution:
    # steam at the gauge's pressure is hotter than the belt's: the two must not be read together
    gauge = ""
    if safety.steam_gauge_kpa is not None:
        supply = floor.pressure(safety.steam_gauge_kpa, units)
        gauge = say("; {supply} on the supply gauge, hotter there", supply=supply)
    heat = floor.temperature(line.steam_temperature_c, units)
    return Caution(
        say("Steam burns"),
        say(
            "Steam ({heat} in the steamer{gauge}) cannot be seen at the nozzle: keep "
            "hands, face and sleeves away from the slots. Steam off and vented before "
            "you thread or clear. Yarn and drips scald. Burnt: cold running water at "
            "once, then first aid: {first_aid}.",
            heat=heat,
            gauge=gauge,
            first_aid=safety.first_aid,
        ),
        "condensing steam gives up far more heat than water as hot (DERIVED); ASTM "
        "C1055, 5 s of contact (READ); common practice, no published source, for "
        "first aid",
    )


def _wrap(safety: Safety) -> Caution:
    keys = (
        say(" All {lock_out_keys} lock-outs.", lock_out_keys=safety.lock_out_keys)
        if safety.lock_out_keys > 1
        else ""
    )
    return Caution(
        say("Wrap or jam"),
        say(
            "Stop. Lock. Tag.{keys} Vent steam and air; let it cool. Try the start: it "
            "must be dead. Only then open a guard or reach in.",
            keys=keys,
        ),
        "29 CFR 1910.147(d), the order of lock-out, stored energy, verifying (READ)",
    )


def _belt(line: Line, units: UnitSystem) -> Caution:
    longest = floor.longest(line.longest_dwell_s)
    steamer = floor.belt_length(line.steamer_length_m, units)
    return Caution(
        say("Belt stopped"),
        say(
            "Close the steam at once. Yarn in steam for more than {longest} in all, "
            "time before the stop counted: pull all {steamer} in the steamer, with the "
            "steam vented; it is second-quality.",
            longest=longest,
            steamer=steamer,
        ),
        "the mill file, [[line]] longest_dwell and steamer_length; common "
        "practice, no published source",
    )


def _dryer(line: Line, units: UnitSystem) -> Caution:
    return Caution(
        say("Hot dryer"),
        say(
            "Air at {temperature}. Clear lint from filters and ducts every shift. "
            "Smell or smoke: heat and fans off, doors shut, call. Never leave it hot "
            "with yarn in it.",
            temperature=floor.temperature(line.dryer_temperature_c, units),
        ),
        "lint in hot ducts burns, OSHA Hazard Information Bulletin of 6 October "
        "1998 on fibre dust (READ); common practice, no published source, for the "
        "doors",
    )


def _lifting(safety: Safety, units: UnitSystem) -> Caution:
    if safety.heaviest_lift_g is None:
        most = say("Ask the lead for the heaviest lift this mill allows.")
    else:
        most = say("One person: {lift} at most.", lift=floor.lift(safety.heaviest_lift_g, units))
    return Caution(
        say("Cones and cases"),
        say(
            "{most} More: two people or a lift table. Load close to you, turn your "
            "feet and not your back, take turns: heat makes it harder.",
            most=most,
        ),
        "the mill file, [safety] heaviest_lift; NIOSH 94-110, revised lifting "
        "equation, not valid in this heat (READ)",
    )


def _noise(safety: Safety) -> tuple[Caution, ...]:
    if safety.noise_dba is None:
        return ()
    level = say("{show} measured here.", show=show(safety.noise_dba, NOISE, digits=3))
    if safety.noise_dba >= WEAR_PROTECTORS_DBA:
        text = say("{level} Wear ear protectors.", level=level)
    elif safety.noise_dba >= OFFER_PROTECTORS_DBA:
        text = say("{level} Ear protectors are there for you: wear them.", level=level)
    else:
        text = say("{level} If it grows louder, tell the lead.", level=level)
    source = (
        "29 CFR 1910.95, action level 85 dB(A) (READ); Directive 2003/10/EC, 80 "
        "and 85 dB(A) (MEMORY)"
    )
    return (Caution(say("Noise"), text, source),)
