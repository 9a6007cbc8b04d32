"""A line that plays a simulated shift: it knows only what any machine or hand outside knows."""
