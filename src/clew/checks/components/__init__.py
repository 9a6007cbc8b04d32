"""What varies: dye lot, cone, lane, winder and the ball itself; who drifted, what to correct."""
