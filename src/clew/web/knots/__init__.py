"""Knots: why they are in a ball, what fewer cost, and what to answer."""
