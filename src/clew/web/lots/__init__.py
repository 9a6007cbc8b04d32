"""Lots: may this lot go, and what would let it go."""
