"""The `clew` command, one file a noun."""
