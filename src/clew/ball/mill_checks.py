"""What a mill file must also hold once strand and ball are at hand: fibres, densities, tensions.

These run with the reading of the file, so that their faults are reported with all the others.
"""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from clew.languages import figure, joined, say
from clew.mill.fields import Clash
from clew.mill.finding import Check
from clew.strand.allowances import TABLE_NAMES, allowance_table
from clew.strand.diameter import blend_density_kg_m3
from clew.strand.fibres import FIBRES

MOST_STRAIN_FRAC = 0.25
"""Stretch beyond which the winding tension is taken for a slip of the pen: assumed."""


def fibre_clashes(mill: Any) -> Iterator[Clash]:
    """See that every fibre is one Clew knows and has an allowance in its blend's table.

    Parameters
    ----------
    mill : Mill or what could be read of one
        The mill.

    Returns
    -------
    iterator of Clash
        One for each fibre that is not there.
    """
    known = {one.key for one in FIBRES}
    for number, blend in enumerate(mill.fibre_blend or ()):
        table = (
            allowance_table(blend.allowance_table) if blend.allowance_table in TABLE_NAMES else {}
        )
        for place, part in enumerate(blend.fibres or ()):
            if part.fibre is None:
                continue
            path = ("fibre_blend", number, "fibres", place, "fibre")
            if part.fibre not in known:
                near = get_close_matches(
                    part.fibre.casefold().replace(" ", "_"), sorted(known), 3, 0.5
                )
                yield Clash(
                    path,
                    say("no such fibre"),
                    say("one of {names}", names=joined(", ", near or sorted(known))),
                )
            elif table and part.fibre not in table:
                yield Clash(
                    path,
                    say(
                        "a fibre without an allowance in {table}",
                        table=blend.allowance_table,
                    ),
                    say("one of {names}", names=joined(", ", sorted(table))),
                )


def density_clashes(mill: Any) -> Iterator[Clash]:
    """See that no ball is packed denser than its fibre, and no strand pulled out of reach.

    Parameters
    ----------
    mill : Mill or what could be read of one
        The mill.

    Returns
    -------
    iterator of Clash
        One for each ball that cannot be.
    """
    yarns = {yarn.name.casefold(): yarn for yarn in mill.yarn or () if yarn.name}
    blends = {blend.name.casefold(): blend for blend in mill.fibre_blend or () if blend.name}
    densities = {one.key: one.density_kg_m3 for one in FIBRES}
    for number, ball in enumerate(mill.ball or ()):
        yarn = yarns.get((ball.yarn or "").casefold())
        if yarn is None:
            continue
        blend = blends.get((yarn.blend or "").casefold())
        parts = (
            [(densities.get(part.fibre or ""), part.share_frac) for part in (blend.fibres or ())]
            if blend
            else []
        )
        sound = [(density, share) for density, share in parts if density and share]
        if ball.pack_density_kg_m3 and parts and len(sound) == len(parts):
            total = sum(share for _, share in sound)
            solid = blend_density_kg_m3(
                [share / total for _, share in sound], [density for density, _ in sound]
            )
            if ball.pack_density_kg_m3 >= solid:
                yield Clash(
                    ("ball", number, "pack_density"),
                    say("a ball denser than its fibre"),
                    say("less than {limit}", limit=figure(f"{solid:.0f} kg/m3")),
                )
        if ball.tension_cn and yarn.count_spun_tex and yarn.modulus_cn_per_tex:
            most = MOST_STRAIN_FRAC * yarn.count_spun_tex * yarn.modulus_cn_per_tex
            if ball.tension_cn > most:
                yield Clash(
                    ("ball", number, "tension"),
                    say("a tension that would stretch the yarn by more than a quarter"),
                    say("less than {limit}", limit=figure(f"{most:.0f} cN")),
                )


MILL_CHECKS: tuple[Check, ...] = (fibre_clashes, density_clashes)
"""Checks to read a mill file with: `clew.mill.read_mill(path, MILL_CHECKS)`."""
