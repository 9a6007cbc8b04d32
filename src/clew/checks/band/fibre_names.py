"""Fibre content as a market's law words it: its names, its order, its whole percentages."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.bands import BandMarket
from clew.strand.allowances import conditioned_from_dry

TOLERANCE_POINTS = 3.0
"""How far a share on the band may stand from the one found [percentage points].

Source: EU by the German law, section 7(1), READ at second hand; US 16 CFR 303.43(a), MEMORY (its
text was looked for and not found).
"""

US_NAMED_FROM_FRAC = 0.05
"""In the US a fibre below this share is "other fiber", but wool and what stretches [1].

Source: 16 CFR 303.3, as told by the FTC's page on cotton labels, READ: one such fibre is "other
fiber", several "other fibers", and what has functional significance may be named; wool by the Wool
Act, MEMORY.
"""


@dataclass(frozen=True, slots=True)
class LawNames:
    """What a fibre is called on a band.

    Attributes
    ----------
    eu : str
        In the EU and the UK; empty where not known here.
    us : str
        In the United States; empty where not known here.
    eu_also, us_also : tuple of str
        Other names that are lawful there.
    """

    eu: str
    us: str
    eu_also: tuple[str, ...] = ()
    us_also: tuple[str, ...] = ()


def _same(name: str) -> LawNames:
    return LawNames(name, name)


LAW_NAMES: dict[str, LawNames] = {
    "wool_combed": _same("wool"),
    "wool_carded": _same("wool"),
    "horsehair_combed": LawNames("horsehair", "horsehair", ("animal hair",)),
    "horsehair_carded": LawNames("horsehair", "horsehair", ("animal hair",)),
    "silk": _same("silk"),
    "cotton": _same("cotton"),
    "cotton_mercerised": _same("cotton"),
    "kapok": _same("kapok"),
    "flax": LawNames("flax", "linen", ("linen", "flax or linen"), ("flax",)),
    "hemp": LawNames("true hemp", "hemp", ("hemp",), ("true hemp",)),
    "jute": _same("jute"),
    "abaca": LawNames("abaca", "abaca", ("manila hemp",)),
    "alfa": _same("alfa"),
    "coir": LawNames("coir", "coir", ("coconut",)),
    "broom": _same("broom"),
    "ramie": _same("ramie"),
    "sisal": _same("sisal"),
    "sunn": _same("sunn"),
    "henequen": _same("henequen"),
    "maguey": _same("maguey"),
    "acetate": _same("acetate"),
    "alginate": LawNames("alginate", ""),
    "cupro": LawNames("cupro", "rayon", (), ("cupro", "cupra", "cupra rayon")),
    "modal": LawNames("modal", "modal", (), ("rayon",)),
    "protein": LawNames("protein", "azlon"),
    "triacetate": _same("triacetate"),
    "viscose": LawNames("viscose", "rayon", (), ("viscose", "viscose rayon")),
    "acrylic": _same("acrylic"),
    "chlorofibre": LawNames("chlorofibre", "vinyon"),
    "fluorofibre": LawNames("fluorofibre", "fluoropolymer"),
    "modacrylic": _same("modacrylic"),
    "polyamide_staple": LawNames("polyamide", "nylon", ("nylon", "polyamide or nylon")),
    "polyamide_filament": LawNames("polyamide", "nylon", ("nylon", "polyamide or nylon")),
    "aramid": _same("aramid"),
    "polyimide": LawNames("polyimide", ""),
    "lyocell": LawNames("lyocell", "lyocell", (), ("rayon",)),
    "polylactide": LawNames("polylactide", "PLA"),
    "polyester": _same("polyester"),
    "polyethylene": LawNames("polyethylene", "olefin", (), ("polyethylene",)),
    "polypropylene": LawNames("polypropylene", "olefin", (), ("polypropylene",)),
    "polyurethane_staple": LawNames("polyurethane", ""),
    "polyurethane_filament": LawNames("polyurethane", ""),
    "vinylal": LawNames("vinylal", "vinal"),
    "elastodiene": LawNames("elastodiene", "rubber"),
    "elastane": LawNames("elastane", "spandex", (), ("elastane",)),
    "glass_coarse": LawNames("glass fibre", "glass", ("glass",)),
    "glass_fine": LawNames("glass fibre", "glass", ("glass",)),
    "elastomultiester": LawNames("elastomultiester", "elasterell-p"),
    "elastolefin": LawNames("elastolefin", "lastol"),
    "melamine": _same("melamine"),
    "metal": LawNames("metal", "metallic", ("metallic",)),
    "metallised": LawNames("metallised", "metallic", ("metallic",)),
    "polyacrylate": LawNames("polyacrylate", ""),
}
"""Names of the law by fibre key.

Source: EU rows 1 to 19 READ in Directive 2008/121/EC Annex I, whose names Regulation (EU) No
1007/2011 keeps; polyacrylate READ in Regulation (EU) 2018/122; the others MEMORY, and so "linen"
and "hemp" as second names, which that directive does not print. US: cotton,
rayon, silk, linen, nylon and wool READ in 16 CFR 303.6, PLA READ in 67 FR 4901, elasterell-p READ
in 67 FR 70835, lastol READ in 68 FR 3813, lyocell READ in 61 FR 16385; the others of 303.7 MEMORY.
What stands as a second name in the US rests on 303.7 taking in the names of ISO 2076:2010: READ at
ftc.gov, the names MEMORY.
"""

_STRETCHES = ("elastane", "elastodiene", "elastomultiester", "elastolefin")
_PART = re.compile(r"(\d{1,3}(?:[.,]\d+)?)\s*%\s*([^\d%,;+/·()]+)")
_PURE = re.compile(r"\b(?:pure|all)\s+([a-z][a-z -]*)", re.IGNORECASE)
_ALL_OF_IT = re.compile(r"^(?:pure|all)\s+")
_OTHER = ("other fiber", "other fibers", "other fibre", "other fibres")


@dataclass(frozen=True, slots=True)
class Content:
    """Fibre content for one market.

    Attributes
    ----------
    market : str
        "eu", "uk" or "us".
    parts : tuple of (str, float)
        Names as printed and shares, as printed [%], in their order.
    keys : tuple of str
        Fibre key of each part; empty for other fibres.
    """

    market: BandMarket
    parts: tuple[tuple[str, float], ...]
    keys: tuple[str, ...]

    @property
    def words(self) -> str:
        """The line as printed: ``59 % wool, 41 % acrylic``."""
        return ", ".join(f"{share:g} % {name}" for name, share in self.parts)


def names_of(key: str, market: BandMarket) -> tuple[str, ...]:
    """Give the lawful names of a fibre, the one Clew prints first; empty where not known."""
    names = LAW_NAMES.get(key)
    if names is None:
        return ()
    first, also = (names.us, names.us_also) if market == "us" else (names.eu, names.eu_also)
    return (first, *also) if first else ()


def content_of(blend: Sequence[tuple[str, float]], table: str, market: BandMarket) -> Content:
    """Word a blend's content for a market.

    Parameters
    ----------
    blend : sequence of (str, float)
        Fibre keys and shares of the dry mass, summing to 1 [1].
    table : str
        Table of agreed allowances used in the US; the EU's and the UK's is always their own.
    market : str
        "eu", "uk" or "us".

    Returns
    -------
    Content
        Names in falling order of mass, whole percentages that add up to 100 (tenths where a fibre
        has less than one percent).

    Raises
    ------
    BadInput
        When a fibre is unknown or has no name in that market.

    Notes
    -----
    Shares of the dry mass are first turned into shares of the conditioned mass, by the agreed
    allowances. In the EU and the UK every fibre is named: that several small ones may be called
    "other fibres" holds only where they are hard to state, and a mill knows its blend. Rounded
    shares add up to 100 by largest remainders, so none is off by a whole unit. Source: Regulation
    (EU) No 1007/2011 Articles 9 and 19(2), READ in national form; 15 USC 70b(b)(1), order of
    predominance, READ in 68 FR 3813.
    """
    shares = conditioned_from_dry(blend, table if market == "us" else "eu-1007-2011")
    named: dict[str, float] = {}
    key_of: dict[str, str] = {}
    others: list[float] = []
    for key, share in shares:
        names = names_of(key, market)
        small = market == "us" and share < US_NAMED_FROM_FRAC
        if small and key not in _STRETCHES and names[:1] != ("wool",):
            others.append(share)
            continue
        if not names:
            raise BadInput(
                Fault(
                    "a fibre without a name in that market's law here",
                    "the mill's own band_text, and the law's book",
                    value=f"{key}, {market}",
                )
            )
        named[names[0]] = named.get(names[0], 0.0) + share
        key_of.setdefault(names[0], key)
    listed = sorted(
        ((name, key_of[name], share) for name, share in named.items()), key=lambda one: -one[2]
    )
    if others:
        name = "other fiber" if len(others) == 1 else "other fibers"
        listed.append((name, "", sum(others)))
    rounded = whole_percents([share for _, _, share in listed])
    return Content(
        market,
        tuple((name, percent) for (name, _, _), percent in zip(listed, rounded, strict=True)),
        tuple(key for _, key, _ in listed),
    )


def whole_percents(shares: Sequence[float]) -> tuple[float, ...]:
    """Round shares to percentages that add up to 100, by largest remainders.

    Parameters
    ----------
    shares : sequence of float
        Shares that sum to 1 [1].

    Returns
    -------
    tuple of float
        Whole percentages, or tenths where one is below 1 % [%]; none is 0.

    Notes
    -----
    Source: largest remainders, DERIVED; common practice.
    """
    total = math.fsum(shares)
    units = 100 if min(shares) / total >= 0.01 else 1000
    exact = [units * share / total for share in shares]
    down = [max(1, math.floor(one + 1e-9)) for one in exact]
    missing = units - sum(down)
    by_remainder = sorted(range(len(exact)), key=lambda place: down[place] - exact[place])
    for place in by_remainder[: max(missing, 0)]:
        down[place] += 1
    while sum(down) > units:  # shares too small to print were lifted to one unit
        down[max(range(len(down)), key=lambda place: down[place])] -= 1
    return tuple(100.0 * one / units for one in down)


def said_content(lines: Sequence[str]) -> tuple[tuple[str, float], ...]:
    """Find what a band's lines say of fibres: names in small letters, shares [%], in order.

    "100 % pure wool" is wool; "pure" before a lesser share stays in the name, and makes it none.
    """
    found = [
        (" ".join(name.casefold().split()).rstrip(" ."), float(share.replace(",", ".")))
        for line in lines
        for share, name in _PART.findall(line)
    ]
    found = [(_ALL_OF_IT.sub("", name) if share == 100.0 else name, share) for name, share in found]
    if found:
        return tuple(found)
    return tuple(
        (" ".join(name.casefold().split()), 100.0) for line in lines for name in _PURE.findall(line)
    )


def content_faults(said: Sequence[tuple[str, float]], due: Content) -> tuple[str, ...]:
    """Lay what a band says of its fibres beside what the law asks.

    Parameters
    ----------
    said : sequence of (str, float)
        Names in small letters and shares [%], in their order.
    due : Content
        What the blend is, in that market's words.

    Returns
    -------
    tuple of str
        What is wrong, in sentences; empty where nothing is.
    """
    if not said:
        return (say("no fibre content: {content} is due", content=due.words),)
    wrong: list[str] = []
    left = dict(said)
    for (name, share), key in zip(due.parts, due.keys, strict=True):
        accepted = tuple(map(str.casefold, names_of(key, due.market))) if key else _OTHER
        as_said = next((one for one in accepted if one in left), None)
        if as_said is None:
            wrong.append(
                say("{share:g} % {fibre} is due and not named so", share=share, fibre=name)
            )
            continue
        percent = left.pop(as_said)
        if len(due.parts) == 1 and percent != 100.0:
            wrong.append(
                say(
                    "{share:g} % {said} where all of it is {fibre}",
                    share=percent,
                    said=as_said,
                    fibre=name,
                )
            )
        elif abs(percent - share) > TOLERANCE_POINTS:
            wrong.append(
                say(
                    "{share:g} % {said} where {due:g} % is due, more than {points:g} points apart",
                    share=percent,
                    said=as_said,
                    due=share,
                    points=TOLERANCE_POINTS,
                )
            )
    wrong += [say("{fibre} is no name of a fibre in it", fibre=name) for name in left]
    shares = [share for name, share in said if name not in _OTHER]
    if any(after > before for before, after in itertools.pairwise(shares)):
        wrong.append(say("fibres not in falling order of mass"))
    total = math.fsum(share for _, share in said)
    if abs(total - 100.0) > 0.05:
        wrong.append(say("the shares add up to {total:g} %", total=total))
    return tuple(wrong)
