"""Orders: which order runs next, and whether all is done in time."""
