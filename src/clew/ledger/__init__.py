"""The record of what happened; so far, reading what scales and people write to files."""
