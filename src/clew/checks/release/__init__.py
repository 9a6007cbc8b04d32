"""The decision on a lot: release, hold or rework, and what would release it."""
