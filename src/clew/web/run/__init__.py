"""Run and the hands' page under it: what the line needs now, and what happened."""
