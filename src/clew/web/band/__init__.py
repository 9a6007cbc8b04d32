"""Band: what the winders do now, and what the lead changes."""
