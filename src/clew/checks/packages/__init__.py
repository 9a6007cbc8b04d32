"""Net-content rule sets: what the law of a market asks of a lot's mass and length."""
