"""What to do on line, while joins become known only as they pass a detector."""
