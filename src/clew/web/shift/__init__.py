"""Shift: whether the line keeps running, and where the minutes go."""
