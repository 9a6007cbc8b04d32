"""Steam and Dry: full bulk, dry enough, and what limits the line."""
