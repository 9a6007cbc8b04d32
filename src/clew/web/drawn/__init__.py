"""Drawings, charts and figures that more than one page shows."""
