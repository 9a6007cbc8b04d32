"""Orders and the materials they ask for: cones, dye lots, what is missing."""
