"""Agreed allowances: the regain at which yarn is bought, sold and declared.

An allowance is a convention of law or trade on dry mass, not what a fibre holds in any room. Two
tables are kept; each entry carries how far it was confirmed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from clew.faults import BadInput, Fault
from clew.strand.fibres import fibre
from clew.strand.given import fraction, more_than_zero

Mark = Literal["READ", "READ-via", "MEMORY"]
SharesOn = Literal["dry", "conditioned"]
Blend = Sequence[tuple[str, float]]

_SUM_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Allowance:
    """An agreed allowance.

    Attributes
    ----------
    frac : float
        Water and agreed additions on dry mass [1].
    mark : {"READ", "READ-via", "MEMORY"}
        Read in the document (or a national print of it), read where another work cites it, or
        recalled.
    source : str
        The document.
    note : str
        What must be known to use it.
    """

    frac: float
    mark: Mark
    source: str
    note: str = ""


Table = str | Mapping[str, Allowance]
"""A table by its name, or a mill's own table agreed in a contract."""

_EU = "Regulation (EU) No 1007/2011, Annex IX"
_ASTM = "ASTM D1909"
_UNKNOWN_WOOL = "also where combed cannot be told from carded (note 1 of the annex, MEMORY)"

_EU_READ_PERCENT: dict[str, float] = {
    "wool_combed": 18.25, "wool_carded": 17.0, "horsehair_combed": 16.0, "horsehair_carded": 15.0,
    "silk": 11.0, "cotton": 8.5, "cotton_mercerised": 10.5, "kapok": 10.9, "flax": 12.0,
    "hemp": 12.0, "jute": 17.0, "abaca": 14.0, "alfa": 14.0, "coir": 13.0, "broom": 14.0,
    "ramie": 8.5, "sisal": 14.0, "sunn": 12.0, "henequen": 14.0, "maguey": 14.0, "acetate": 9.0,
    "alginate": 20.0, "cupro": 13.0, "modal": 13.0, "protein": 17.0, "triacetate": 7.0,
    "viscose": 13.0, "acrylic": 2.0, "chlorofibre": 2.0, "fluorofibre": 0.0, "modacrylic": 2.0,
    "polyamide_staple": 6.25, "polyamide_filament": 5.75, "aramid": 8.0, "polyimide": 3.5,
    "lyocell": 13.0, "polylactide": 1.5, "polyester": 1.5, "polyethylene": 1.5,
    "polypropylene": 2.0, "polycarbamide": 2.0, "polyurethane_staple": 3.5,
    "polyurethane_filament": 3.0, "vinylal": 5.0, "trivinyl": 3.0, "elastodiene": 1.0,
    "elastane": 1.5, "glass_coarse": 2.0, "glass_fine": 3.0, "elastomultiester": 1.5,
    "elastolefin": 1.5, "melamine": 7.0, "metal": 2.0,
}  # fmt: skip

_PREDECESSOR = "2.00 read in national prints of the annex that this one replaced"
_EU_MEMORY: dict[str, tuple[float, str]] = {
    "metallised": (2.0, _PREDECESSOR),
    "asbestos": (2.0, _PREDECESSOR + "; stands in the annex, in no craft yarn"),
    "paper": (13.75, "13.75 read in national prints of the annex that this one replaced"),
    "polypropylene_polyamide": (1.0, "added by Regulation (EU) No 286/2012"),
    "polyacrylate": (30.0, "added by Regulation (EU) 2018/122"),
}

_ASTM_VIA = (
    "as cited with D1909-13 in Bioresources and Bioprocessing 7 (2020), article 339, table 10"
)
_ONE_WOOL = "the list has one value for all wool; " + _ASTM_VIA
_ONE_NYLON = "the list has one value for all nylon"
_COTTON_YARN = "; cotton yarn 7.0 is recalled as an entry of its own (MEMORY)"
_LINEN = "; linen 8.75 is recalled as an entry of its own (MEMORY)"
_ASTM_ENTRIES: dict[str, tuple[float, Mark, str]] = {
    "wool_combed": (13.6, "READ-via", _ONE_WOOL),
    "wool_carded": (13.6, "READ-via", _ONE_WOOL),
    "silk": (11.0, "READ-via", _ASTM_VIA),
    "cotton": (8.5, "READ-via", _ASTM_VIA + _COTTON_YARN),
    "flax": (12.0, "READ-via", _ASTM_VIA + _LINEN),
    "jute": (13.75, "READ-via", _ASTM_VIA),
    "hemp": (12.0, "READ-via", _ASTM_VIA),
    "cotton_mercerised": (8.5, "MEMORY", ""),
    "acrylic": (1.5, "MEMORY", ""),
    "polyester": (0.4, "MEMORY", ""),
    "polyamide_staple": (4.5, "MEMORY", _ONE_NYLON),
    "polyamide_filament": (4.5, "MEMORY", _ONE_NYLON),
    "viscose": (11.0, "MEMORY", ""),
    "acetate": (6.5, "MEMORY", ""),
    "triacetate": (3.5, "MEMORY", ""),
}


def _eu_table() -> Mapping[str, Allowance]:
    entries = {
        key: Allowance(percent / 100.0, "READ", _EU, _UNKNOWN_WOOL if key == "wool_carded" else "")
        for key, percent in _EU_READ_PERCENT.items()
    }
    for key, (percent, note) in _EU_MEMORY.items():
        entries[key] = Allowance(percent / 100.0, "MEMORY", _EU, note)
    return MappingProxyType(entries)


def _astm_table() -> Mapping[str, Allowance]:
    return MappingProxyType(
        {
            key: Allowance(percent / 100.0, mark, _ASTM, note)
            for key, (percent, mark, note) in _ASTM_ENTRIES.items()
        }
    )


_TABLES: dict[str, Mapping[str, Allowance]] = {
    "eu-1007-2011": _eu_table(),
    "astm-d1909": _astm_table(),
}
TABLE_NAMES = tuple(_TABLES)
"""Names of the tables of allowances."""


def allowance_table(name: str) -> Mapping[str, Allowance]:
    """Give a table of agreed allowances by fibre key.

    Parameters
    ----------
    name : str
        ``eu-1007-2011`` or ``astm-d1909``.

    Returns
    -------
    mapping of str to Allowance
        The allowances; it cannot be written to.

    Raises
    ------
    BadInput
        When there is no such table.

    Notes
    -----
    Source: Regulation (EU) No 1007/2011, Annex IX, in its German print (READ up to metal, the rest
    MEMORY); ASTM D1909 as cited elsewhere (READ-via) and recalled (MEMORY): the table itself has
    not been seen.
    """
    table = _TABLES.get(name)
    if table is None:
        expected = "one of " + ", ".join(TABLE_NAMES)
        raise BadInput(
            Fault("no such table of allowances", expected, key="table", value=repr(name))
        )
    return table


def _name(table: Table) -> str:
    return table if isinstance(table, str) else "of the mill's own"


def allowance(key: str, table: Table) -> Allowance:
    """Give the agreed allowance of one fibre.

    Parameters
    ----------
    key : str
        Fibre key.
    table : str or mapping of str to Allowance
        Name of the table, or a table of the mill's own.

    Returns
    -------
    Allowance
        The allowance with its mark.

    Raises
    ------
    BadInput
        When there is no such table or fibre, or the table has no value for it.
    """
    entries = allowance_table(table) if isinstance(table, str) else table
    found = entries.get(key)
    if found is None:
        raise BadInput(
            Fault(
                f"the table {_name(table)} has no allowance for this fibre",
                expected="a fibre of the table, or another table",
                key="fibre",
                value=fibre(key).title,
            )
        )
    return found


@dataclass(frozen=True, slots=True)
class BlendAllowance:
    """The agreed allowance of a blend.

    Attributes
    ----------
    frac : float
        Allowance of the blend on its dry mass [1].
    table : str
        Name of the table.
    shares_on : {"dry", "conditioned"}
        On which mass the shares were given.
    dry_shares : tuple of (str, float)
        Fibre keys and shares of the dry mass, summing to 1 [1].
    from_memory : tuple of str
        Keys of the fibres whose allowance carries the mark MEMORY.
    """

    frac: float
    table: str
    shares_on: SharesOn
    dry_shares: tuple[tuple[str, float], ...]
    from_memory: tuple[str, ...]


def _checked_shares(blend: Blend) -> list[tuple[str, float]]:
    if not blend:
        raise BadInput(Fault("a blend has one fibre or more", key="blend"))
    total = math.fsum(more_than_zero(share, "share") for _, share in blend)
    if abs(total - 1.0) > _SUM_TOLERANCE:
        shown = f"{100 * total:g} %"
        raise BadInput(
            Fault("shares do not sum to 100 %", expected="100 %", key="blend", value=shown)
        )
    return [(key, share / total) for key, share in blend]


def dry_from_conditioned(blend: Blend, table: Table) -> tuple[tuple[str, float], ...]:
    """Turn shares of the conditioned mass, as on a label, into shares of the dry mass.

    Parameters
    ----------
    blend : sequence of (str, float)
        Fibre keys and shares of the conditioned mass, summing to 1 [1].
    table : str or mapping of str to Allowance
        Name of the table of allowances, or a table of the mill's own.

    Returns
    -------
    tuple of (str, float)
        Fibre keys and shares of the dry mass, summing to 1 [1]: d_i ~ L_i/(1 + a_i).

    Raises
    ------
    BadInput
        When a fibre is unknown or the shares do not sum to 1.

    Notes
    -----
    Source: inverse of the labelling formula, see `conditioned_from_dry` (DERIVED).
    """
    parts = [
        (key, share / (1.0 + allowance(key, table).frac)) for key, share in _checked_shares(blend)
    ]
    total = math.fsum(part for _, part in parts)
    return tuple((key, part / total) for key, part in parts)


def conditioned_from_dry(
    blend: Blend, table: Table, *, loss_frac: Mapping[str, float] | None = None
) -> tuple[tuple[str, float], ...]:
    """Turn shares of the clean dry mass, as analysed, into the shares that stand on a label.

    Parameters
    ----------
    blend : sequence of (str, float)
        Fibre keys and shares of the dry mass, summing to 1 [1].
    table : str or mapping of str to Allowance
        Name of the table of allowances, or a table of the mill's own.
    loss_frac : mapping of str to float, optional
        Mass each fibre lost in the pre-treatment of the analysis, by key, on dry mass [1].

    Returns
    -------
    tuple of (str, float)
        Fibre keys and shares of the conditioned mass, summing to 1 [1]:
        P_iA = P_i (1 + a_i + b_i)/sum(P_j (1 + a_j + b_j)).

    Raises
    ------
    BadInput
        When a fibre is unknown or the shares do not sum to 1.

    Notes
    -----
    Source: Regulation (EU) No 1007/2011, Article 19(2) and Annex VIII; formula READ in its national
    form.
    """
    losses = loss_frac or {}
    parts = [
        (key, share * (1.0 + allowance(key, table).frac + fraction(losses.get(key, 0.0), "loss")))
        for key, share in _checked_shares(blend)
    ]
    total = math.fsum(part for _, part in parts)
    return tuple((key, part / total) for key, part in parts)


def blend_allowance(blend: Blend, table: Table, *, shares_on: SharesOn = "dry") -> BlendAllowance:
    """Find the agreed allowance of a blend.

    Parameters
    ----------
    blend : sequence of (str, float)
        Fibre keys and shares, summing to 1 [1].
    table : str or mapping of str to Allowance
        Name of the table of allowances, or a table of the mill's own.
    shares_on : {"dry", "conditioned"}
        Whether the shares are of the dry mass (the trade's plain sum) or of the conditioned mass,
        as the labelling rule makes those printed on a label. For wool with polyamide the two differ
        by about a quarter of a point of regain.

    Returns
    -------
    BlendAllowance
        The allowance on dry mass, a = sum(d_i a_i), with the dry shares used.

    Raises
    ------
    BadInput
        When a fibre has no allowance in the table or the shares do not sum to 1.

    Notes
    -----
    Source: blend regain as the sum of dry shares times regain, worked examples of GATE Textile and
    invoice-weight pages (READ); the second convention DERIVED from the labelling formula.
    """
    if shares_on not in ("dry", "conditioned"):
        raise BadInput(Fault("shares are on dry or on conditioned mass", value=repr(shares_on)))
    if shares_on == "dry":
        dry_shares = tuple(_checked_shares(blend))
    else:
        dry_shares = dry_from_conditioned(blend, table)
    entries = [(key, share, allowance(key, table)) for key, share in dry_shares]
    return BlendAllowance(
        frac=math.fsum(share * entry.frac for _, share, entry in entries),
        table=_name(table),
        shares_on=shares_on,
        dry_shares=dry_shares,
        from_memory=tuple(key for key, _, entry in entries if entry.mark == "MEMORY"),
    )
