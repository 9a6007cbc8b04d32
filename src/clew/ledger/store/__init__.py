"""The database of the ledger: its tables, the one way rows get in, and the chain they form."""
