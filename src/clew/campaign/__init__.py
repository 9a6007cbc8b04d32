"""Sweeps of pure functions over a grid: on cores or a cluster, resumable, always the same."""
