"""Where knots come from, how many land in a ball, where to part the strand."""
