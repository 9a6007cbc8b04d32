"""The line in time: lanes, hands, belts, and what waits on what."""
