"""Wind and the run card: how many turns, and what the ball will be."""
