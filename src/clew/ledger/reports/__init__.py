"""What the records of a shift add up to."""
