"""The books of strand and of dry mass: everything that came is somewhere."""

from __future__ import annotations

from dataclasses import dataclass

from clew.line.layout import Layout
from clew.line.simulate.measures import MEASURES, Sums


@dataclass(frozen=True, slots=True)
class DryBooks:
    """Dry mass of all lanes in a mean shift.

    Attributes
    ----------
    initial_kg, fed_kg : float
        There at first, and fed [kg].
    raw_kg, steamed_kg : float
        Left on the belt before steam, and after it with the buffer [kg].
    wound_kg, waste_kg : float
        Wound into balls, finished or not, and wasted [kg].
    finish_kg : float
        Gone with the finish in steam [kg].
    """

    initial_kg: float
    fed_kg: float
    raw_kg: float
    steamed_kg: float
    wound_kg: float
    waste_kg: float
    finish_kg: float

    @property
    def missed_kg(self) -> float:
        """What came less all that is left of it: nothing, but for rounding [kg]."""
        left_kg = self.raw_kg + self.steamed_kg + self.wound_kg + self.waste_kg + self.finish_kg
        return self.initial_kg + self.fed_kg - left_kg


@dataclass(frozen=True, slots=True)
class Books:
    """Strand of all lanes in a mean shift, in metres before steam.

    Attributes
    ----------
    initial_m, laid_m : float
        There at first, and fed [m].
    raw_m, steamed_m : float
        Left on the belt before steam, and after it with the buffer [m].
    wound_m, waste_m : float
        Wound into balls, finished or not, and wasted [m].
    missed_m : float
        What the books of the worst lane of the worst shift miss [m].
    missed_frac : float
        The same over what came into that lane [1].
    dry : DryBooks
        The same strand by its dry mass.
    """

    initial_m: float
    laid_m: float
    raw_m: float
    steamed_m: float
    wound_m: float
    waste_m: float
    missed_m: float
    missed_frac: float
    dry: DryBooks


def books_of(layout: Layout, sums: Sums) -> Books:
    """Close the books of many shifts.

    Parameters
    ----------
    layout : Layout
        The line.
    sums : Sums
        What its shifts added up to.

    Returns
    -------
    Books
        In metres before steam and in dry mass.
    """
    part = 1.0 / sums.measures.count
    means = dict(zip(MEASURES, map(float, sums.measures.mean), strict=True))
    strand = {
        "initial_m": part * sums.initial_m,
        "laid_m": means["laid_m"],
        "raw_m": part * sums.raw_m,
        "steamed_m": part * sums.steamed_m,
        "wound_m": part * sums.taken_m - means["waste_m"],
        "waste_m": means["waste_m"],
    }
    return Books(
        **strand,
        missed_m=sums.worst_imbalance_m,
        missed_frac=sums.worst_imbalance_m / max(sums.through_m, 1e-300),
        dry=_dry_books(layout, strand, part * sums.initial_raw_m),
    )


def _dry_books(layout: Layout, strand: dict[str, float], first_raw_m: float) -> DryBooks:
    """Book dry mass: the finish is lost where strand leaves the steamer."""
    kg_per_m = 1e-6 * layout.count_tex / (1.0 + layout.regain_in_frac)
    kept = kg_per_m * (1.0 - layout.finish_loss_frac)
    return DryBooks(
        initial_kg=kg_per_m * first_raw_m + kept * (strand["initial_m"] - first_raw_m),
        fed_kg=kg_per_m * strand["laid_m"],
        raw_kg=kg_per_m * strand["raw_m"],
        steamed_kg=kept * strand["steamed_m"],
        wound_kg=kept * strand["wound_m"],
        waste_kg=kept * strand["waste_m"],
        finish_kg=(kg_per_m - kept) * (first_raw_m + strand["laid_m"] - strand["raw_m"]),
    )
