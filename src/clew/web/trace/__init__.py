"""Trace: where a ball comes from, and where a cone went."""
