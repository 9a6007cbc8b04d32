"""The line as the navigation draws it: every station in its order."""

from __future__ import annotations

from dataclasses import dataclass

from clew.languages import say


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
    Station(say("Orders"), "/orders"),
    Station(say("Creel"), "/creel", (Station(say("Knots"), "/knots"),)),
    Station(say("Steam"), "/steam"),
    Station(say("Dry"), "/dry"),
    Station(say("Wind"), "/wind", (Station(say("Shift"), "/shift"), Station(say("Run"), "/run"))),
    Station(say("Band"), "/band"),
    Station(say("Case"), "/case"),
    Station(say("Lots"), "/lots", (Station(say("Trace"), "/trace"),)),
)
"""Orders before the line and Lots after it; there is no other top-level page."""
