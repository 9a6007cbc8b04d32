"""Where each tie is on the line, which ball it will land in, and which balls to pull."""
