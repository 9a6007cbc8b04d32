"""Which order runs next, on which line: the least waste and lateness."""
