"""The line as the navigation draws it: every station in its order, open or not yet."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Station:
    """One place on the drawn line.

    Attributes
    ----------
    name : str
        What the line calls it.
    path : str
        Its page; empty while there is none.
    hung : tuple of Station
        Pages that hang under it.
    """

    name: str
    path: str = ""
    hung: tuple[Station, ...] = ()

    @property
    def key(self) -> str:
        """Name of its drawing."""
        return self.name.lower()


LINE: tuple[Station, ...] = (
    Station("Orders"),
    Station("Creel", "/creel", (Station("Knots", "/knots"),)),
    Station("Steam", "/steam"),
    Station("Dry", "/dry"),
    Station("Wind", "/wind", (Station("Shift", "/shift"), Station("Run", "/run"))),
    Station("Band", "/band"),
    Station("Case"),
    Station("Lots", "/lots", (Station("Trace", "/trace"),)),
)
"""Orders before the line and Lots after it; there is no other top-level page."""


def not_open(path: str) -> str:
    """Name the station that is drawn and has no page yet; empty when the path is of none."""
    key = path.strip("/").casefold()
    drawn = (one for station in LINE for one in (station, *station.hung))
    return next((one.name for one in drawn if one.key == key and not one.path), "")
