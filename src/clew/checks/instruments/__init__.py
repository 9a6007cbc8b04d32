"""The scale and the reel: how well they repeat, their doubt, what the rules allow, tare."""
