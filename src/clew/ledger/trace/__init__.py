"""Trace: from a band back to the cones, from a cone on to every ball and case it may be in."""
