"""Keeping the ledger safe: backups, archives, and how much room is left."""
