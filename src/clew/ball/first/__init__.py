"""What the first balls of a run say: the mill's belief, its update, and what to set."""
