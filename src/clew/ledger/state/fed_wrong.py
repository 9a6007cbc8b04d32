"""A cone of a wrong dye lot that has fed and is gone: its yarn is in balls, until pulled."""

from __future__ import annotations

from dataclasses import dataclass

MOST = 20
"""So many of one lane and run are kept in sight."""


@dataclass(frozen=True, slots=True)
class FedWrong:
    """A cone that fed though its dye lot was not the right one.

    Attributes
    ----------
    cone : str
        Its name; empty where not told.
    lot : str
        Its dye lot.
    right : str
        Dye lot that was right then.
    from_us, upto_us : int
        From when to when it fed [us].
    """

    cone: str
    lot: str
    right: str
    from_us: int
    upto_us: int
