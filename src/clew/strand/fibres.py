"""The fibres Clew knows: a key, a name in words, other words for it, and its density.

The list is that of Annex IX to Regulation (EU) No 1007/2011, so that every fibre of a label has a
place. Density is that of the fibre itself at 65 % relative humidity, without the air of the yarn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput, Fault
from clew.languages import say

DensityMark = Literal["READ", "MEMORY", "none"]


@dataclass(frozen=True, slots=True)
class Fibre:
    """A fibre.

    Attributes
    ----------
    key : str
        Our name for it in tables and files.
    title : str
        What it is called in words.
    density_kg_m3 : float or None
        Density of the fibre at 65 % relative humidity [kg/m3]; None where not known.
    density_mark : {"READ", "MEMORY", "none"}
        How far the density was confirmed.
    words : tuple of str
        Other words for it on labels, in small letters.
    short : str
        What it is called in everyday words; empty where that is its title.
    """

    key: str
    title: str
    density_kg_m3: float | None = None
    density_mark: DensityMark = "none"
    words: tuple[str, ...] = ()
    short: str = ""


_MERCERISED = ("mercerised cotton", "mercerized cotton", "cotton mercerized")

FIBRES: tuple[Fibre, ...] = (
    Fibre("wool_combed", say("wool or animal hair, combed"), 1310, "READ",
          ("worsted spun wool",), say("combed wool")),
    Fibre("wool_carded", say("wool or animal hair, carded"), 1310, "READ",
          ("woollen spun wool",), say("carded wool")),
    Fibre("horsehair_combed", say("horsehair, combed"), None, "none",
          ("combed horsehair",), say("combed horsehair")),
    Fibre("horsehair_carded", say("horsehair, carded"), None, "none",
          ("carded horsehair",), say("carded horsehair")),
    Fibre("silk", say("silk"), 1340, "READ"),
    Fibre("cotton", say("cotton"), 1520, "READ"),
    Fibre("cotton_mercerised", say("cotton, mercerised"), 1520, "MEMORY",
          _MERCERISED, say("mercerised cotton")),
    Fibre("kapok", say("kapok")),
    Fibre("flax", say("flax or linen"), 1500, "MEMORY", ("linen",), say("linen")),
    Fibre("hemp", say("true hemp"), 1480, "MEMORY", ("true hemp",), say("hemp")),
    Fibre("jute", say("jute"), 1480, "MEMORY"),
    Fibre("abaca", say("abaca"), None, "none", ("manila hemp",)),
    Fibre("alfa", say("alfa"), None, "none", ("esparto",)),
    Fibre("coir", say("coir"), None, "none", ("coconut",)),
    Fibre("broom", say("broom")),
    Fibre("ramie", say("ramie, bleached"), 1510, "MEMORY", (), say("ramie")),
    Fibre("sisal", say("sisal")),
    Fibre("sunn", say("sunn"), None, "none", ("sunn hemp",)),
    Fibre("henequen", say("henequen")),
    Fibre("maguey", say("maguey")),
    Fibre("acetate", say("acetate"), 1320, "READ"),
    Fibre("alginate", say("alginate"), 1750, "READ"),
    Fibre("cupro", say("cupro"), 1520, "MEMORY"),
    Fibre("modal", say("modal"), 1520, "MEMORY"),
    Fibre("protein", say("protein"), 1300, "READ", ("casein", "soya protein", "milk protein")),
    Fibre("triacetate", say("triacetate"), 1320, "READ"),
    Fibre("viscose", say("viscose"), 1490, "READ", ("rayon", "viscose rayon", "bamboo viscose")),
    Fibre("acrylic", say("acrylic"), 1190, "READ", ("polyacrylic", "polyacrylonitrile")),
    Fibre("chlorofibre", say("chlorofibre"), 1400, "READ", ("polyvinyl chloride",)),
    Fibre("fluorofibre", say("fluorofibre"), 2200, "MEMORY"),
    Fibre("modacrylic", say("modacrylic"), 1340, "READ"),
    Fibre("polyamide_staple", say("polyamide or nylon, staple"), 1140, "READ",
          ("nylon staple",), say("nylon")),
    Fibre("polyamide_filament", say("polyamide or nylon, filament"), 1140, "READ",
          ("nylon filament",), say("nylon filament")),
    Fibre("aramid", say("aramid"), 1390, "READ"),
    Fibre("polyimide", say("polyimide")),
    Fibre("lyocell", say("lyocell"), 1520, "MEMORY"),
    Fibre("polylactide", say("polylactide"), 1250, "READ", ("polylactic acid", "pla")),
    Fibre("polyester", say("polyester"), 1390, "READ"),
    Fibre("polyethylene", say("polyethylene"), 950, "READ"),
    Fibre("polypropylene", say("polypropylene"), 910, "READ"),
    Fibre("polycarbamide", say("polycarbamide")),
    Fibre("polyurethane_staple", say("polyurethane, staple")),
    Fibre("polyurethane_filament", say("polyurethane, filament")),
    Fibre("vinylal", say("vinylal"), 1300, "MEMORY", ("polyvinyl alcohol", "vinylon")),
    Fibre("trivinyl", say("trivinyl")),
    Fibre("elastodiene", say("elastodiene"), None, "none", ("rubber",)),
    Fibre("elastane", say("elastane"), 1150, "MEMORY", ("spandex",)),
    Fibre("glass_coarse", say("glass of more than 5 µm"), 2500, "READ"),
    Fibre("glass_fine", say("glass of 5 µm or less"), 2500, "READ"),
    Fibre("elastomultiester", say("elastomultiester")),
    Fibre("elastolefin", say("elastolefin")),
    Fibre("melamine", say("melamine")),
    Fibre("metal", say("metal fibre"), None, "none", ("metal fibre", "metallic")),
    Fibre("metallised", say("metallised fibre"), None, "none", ("metallised fibre", "metallized")),
    Fibre("asbestos", say("asbestos")),
    Fibre("paper", say("paper yarn"), None, "none", ("paper yarn",)),
    Fibre("polypropylene_polyamide", say("polypropylene/polyamide bicomponent")),
    Fibre("polyacrylate", say("polyacrylate")),
)  # fmt: skip
"""Every fibre, in the order of the annex.

Source: densities READ from Morton & Hearle, Physical Properties of Textile Fibres, Table 5.1 and
5.2 (65 % r.h. where given; cotton with filled lumen; modacrylic 1.29 or 1.34 by kind; aramid that
is not para-aramid); the others MEMORY. Metal has no one density, and kapok's depends on its lumen.
"""

_BY_KEY = {fibre.key: fibre for fibre in FIBRES}


def fibre(key: str) -> Fibre:
    """Find a fibre by its key.

    Parameters
    ----------
    key : str
        Our key, such as ``wool_combed``.

    Returns
    -------
    Fibre
        The fibre.

    Raises
    ------
    BadInput
        When there is no such key.
    """
    found = _BY_KEY.get(key)
    if found is None:
        raise BadInput(
            Fault(
                say("no such fibre"),
                expected=say("a key such as wool_combed"),
                key="fibre",
                value=repr(key),
            )
        )
    return found


def fibre_density_kg_m3(key: str) -> float:
    """Give the density of a fibre at 65 % relative humidity.

    Parameters
    ----------
    key : str
        Our key, such as ``cotton``.

    Returns
    -------
    float
        Density of the fibre without air [kg/m3].

    Raises
    ------
    BadInput
        When there is no such fibre, or its density is not known here.
    """
    found = fibre(key)
    if found.density_kg_m3 is None:
        raise BadInput(
            Fault(
                say("no density is known for this fibre"),
                expected=say("a density stated by the mill"),
                key="fibre",
                value=found.title,
            )
        )
    return found.density_kg_m3
