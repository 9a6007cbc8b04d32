"""Creel: what the yarn is, and will be when it has been steamed."""
