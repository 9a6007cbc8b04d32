"""The fibres Clew knows: a key, a name in words, other words for it, and its density.

The list is that of Annex IX to Regulation (EU) No 1007/2011, so that every fibre of a label has a
place. Density is that of the fibre itself at 65 % relative humidity, without the air of the yarn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput, Fault

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
    Fibre("wool_combed", "wool or animal hair, combed", 1310, "READ", ("worsted spun wool",),
          "combed wool"),
    Fibre("wool_carded", "wool or animal hair, carded", 1310, "READ", ("woollen spun wool",),
          "carded wool"),
    Fibre("horsehair_combed", "horsehair, combed", None, "none", ("combed horsehair",),
          "combed horsehair"),
    Fibre("horsehair_carded", "horsehair, carded", None, "none", ("carded horsehair",),
          "carded horsehair"),
    Fibre("silk", "silk", 1340, "READ"),
    Fibre("cotton", "cotton", 1520, "READ"),
    Fibre("cotton_mercerised", "cotton, mercerised", 1520, "MEMORY", _MERCERISED,
          "mercerised cotton"),
    Fibre("kapok", "kapok"),
    Fibre("flax", "flax or linen", 1500, "MEMORY", ("linen",), "linen"),
    Fibre("hemp", "true hemp", 1480, "MEMORY", ("true hemp",), "hemp"),
    Fibre("jute", "jute", 1480, "MEMORY"),
    Fibre("abaca", "abaca", None, "none", ("manila hemp",)),
    Fibre("alfa", "alfa", None, "none", ("esparto",)),
    Fibre("coir", "coir", None, "none", ("coconut",)),
    Fibre("broom", "broom"),
    Fibre("ramie", "ramie, bleached", 1510, "MEMORY", (), "ramie"),
    Fibre("sisal", "sisal"),
    Fibre("sunn", "sunn", None, "none", ("sunn hemp",)),
    Fibre("henequen", "henequen"),
    Fibre("maguey", "maguey"),
    Fibre("acetate", "acetate", 1320, "READ"),
    Fibre("alginate", "alginate", 1750, "READ"),
    Fibre("cupro", "cupro", 1520, "MEMORY"),
    Fibre("modal", "modal", 1520, "MEMORY"),
    Fibre("protein", "protein", 1300, "READ", ("casein", "soya protein", "milk protein")),
    Fibre("triacetate", "triacetate", 1320, "READ"),
    Fibre("viscose", "viscose", 1490, "READ", ("rayon", "viscose rayon", "bamboo viscose")),
    Fibre("acrylic", "acrylic", 1190, "READ", ("polyacrylic", "polyacrylonitrile")),
    Fibre("chlorofibre", "chlorofibre", 1400, "READ", ("polyvinyl chloride",)),
    Fibre("fluorofibre", "fluorofibre", 2200, "MEMORY"),
    Fibre("modacrylic", "modacrylic", 1340, "READ"),
    Fibre("polyamide_staple", "polyamide or nylon, staple", 1140, "READ", ("nylon staple",),
          "nylon"),
    Fibre("polyamide_filament", "polyamide or nylon, filament", 1140, "READ", ("nylon filament",),
          "nylon filament"),
    Fibre("aramid", "aramid", 1390, "READ"),
    Fibre("polyimide", "polyimide"),
    Fibre("lyocell", "lyocell", 1520, "MEMORY"),
    Fibre("polylactide", "polylactide", 1250, "READ", ("polylactic acid", "pla")),
    Fibre("polyester", "polyester", 1390, "READ"),
    Fibre("polyethylene", "polyethylene", 950, "READ"),
    Fibre("polypropylene", "polypropylene", 910, "READ"),
    Fibre("polycarbamide", "polycarbamide"),
    Fibre("polyurethane_staple", "polyurethane, staple"),
    Fibre("polyurethane_filament", "polyurethane, filament"),
    Fibre("vinylal", "vinylal", 1300, "MEMORY", ("polyvinyl alcohol", "vinylon")),
    Fibre("trivinyl", "trivinyl"),
    Fibre("elastodiene", "elastodiene", None, "none", ("rubber",)),
    Fibre("elastane", "elastane", 1150, "MEMORY", ("spandex",)),
    Fibre("glass_coarse", "glass of more than 5 µm", 2500, "READ"),
    Fibre("glass_fine", "glass of 5 µm or less", 2500, "READ"),
    Fibre("elastomultiester", "elastomultiester"),
    Fibre("elastolefin", "elastolefin"),
    Fibre("melamine", "melamine"),
    Fibre("metal", "metal fibre", None, "none", ("metal fibre", "metallic")),
    Fibre("metallised", "metallised fibre", None, "none", ("metallised fibre", "metallized")),
    Fibre("asbestos", "asbestos"),
    Fibre("paper", "paper yarn", None, "none", ("paper yarn",)),
    Fibre("polypropylene_polyamide", "polypropylene/polyamide bicomponent"),
    Fibre("polyacrylate", "polyacrylate"),
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
                "no such fibre", expected="a key such as wool_combed", key="fibre", value=repr(key)
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
                "no density is known for this fibre",
                expected="a density stated by the mill",
                key="fibre",
                value=found.title,
            )
        )
    return found.density_kg_m3
