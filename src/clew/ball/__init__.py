"""What a ball is: its wind, its turns, its size, and what the first balls of a run say."""
