"""Proving that nothing in the ledger was changed: walking its chains, anchors kept elsewhere."""
