"""What programs ask: each question of the pages as JSON, and events on their way in."""
