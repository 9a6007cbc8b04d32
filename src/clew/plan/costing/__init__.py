"""What a ball costs by the time it leaves, and what each part of it is worth."""
