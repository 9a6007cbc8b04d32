"""What one shift of the plan does, run by run."""
