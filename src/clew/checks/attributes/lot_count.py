"""What a sample says of the whole lot: no more than so many bad balls, with stated confidence."""

from __future__ import annotations

from scipy.stats import beta, hypergeom

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.strand.given import whole_number


def _check(n: int, found: int, lot_size: int | None, confidence_frac: float) -> None:
    whole_number(n, say("balls drawn"))
    whole_number(found, say("bad balls found"), low=0)
    faults = []
    if found > n:
        faults.append(
            Fault(say("more bad balls than were drawn"), say("at most {n}", n=n), value=str(found))
        )
    if lot_size is not None and n > lot_size:
        faults.append(
            Fault(
                say("more balls drawn than the lot has"),
                say("at most {lot_size}", lot_size=lot_size),
                value=str(n),
            )
        )
    if not 0.0 < confidence_frac < 1.0:
        faults.append(
            Fault(
                say("not a confidence"),
                say("above 0 and below 100 %"),
                value=f"{confidence_frac:g}",
            )
        )
    if faults:
        raise BadInput(faults)


def most_bad(
    n: int, found: int, lot_size: int | None = None, *, confidence_frac: float = 0.95
) -> float:
    """Give the upper limit of the share of bad balls in the lot, exactly.

    The greatest share at which so few bad balls would still be found with more than the chance
    left over. Source: C. J. Clopper, E. S. Pearson, Biometrika 26 (1934); for whole lots the same
    by the hypergeometric.

    Parameters
    ----------
    n : int
        Balls drawn.
    found : int
        Bad ones among them.
    lot_size : int or None
        Balls in the lot; None where it is endless.
    confidence_frac : float
        Confidence of the statement, one-sided [1].

    Returns
    -------
    float
        Share of bad balls in the lot, those found among them [1].

    Raises
    ------
    BadInput
        When the numbers cannot be.
    """
    _check(n, found, lot_size, confidence_frac)
    left = 1.0 - confidence_frac
    if lot_size is None:
        return 1.0 if found == n else float(beta.ppf(confidence_frac, found + 1, n - found))
    low, high = found, lot_size - (n - found) + 1
    while high - low > 1:
        middle = (low + high) // 2
        if float(hypergeom.cdf(found, lot_size, middle, n)) > left:
            low = middle
        else:
            high = middle
    return low / lot_size
