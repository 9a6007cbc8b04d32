"""The least lawful target: how likely a lot passes, and what to set the winders to."""
