"""What readers choose and type, read once for every page: entries, limits, units, language."""
