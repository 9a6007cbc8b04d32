"""A shift of the line, event by event: what the winders, the belt and the hands do."""
