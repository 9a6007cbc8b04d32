"""The door: who comes, what they may, and what is turned away."""
