"""Decisions on lots, as the ledger keeps them."""
