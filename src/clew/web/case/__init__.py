"""Case: how balls are packed, what they cost, and what leaves the mill."""
