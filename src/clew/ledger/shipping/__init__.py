"""Cases, pallets and deliveries: what is closed and what leaves, as records of the ledger."""
