"""Runs: how one is started, changed and ended."""
