"""The line as the navigation draws it: every station in its order."""

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
        Its page.
    hung : tuple of Station
        Pages that hang under it.
    """

    name: str
    path: str
    hung: tuple[Station, ...] = ()

    @property
    def key(self) -> str:
        """Name of its drawing."""
        return self.name.lower()


LINE: tuple[Station, ...] = (
    Station("Orders", "/orders"),
    Station("Creel", "/creel", (Station("Knots", "/knots"),)),
    Station("Steam", "/steam"),
    Station("Dry", "/dry"),
    Station("Wind", "/wind", (Station("Shift", "/shift"), Station("Run", "/run"))),
    Station("Band", "/band"),
    Station("Case", "/case"),
    Station("Lots", "/lots", (Station("Trace", "/trace"),)),
)
"""Orders before the line and Lots after it; there is no other top-level page."""
