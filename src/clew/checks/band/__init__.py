"""What a ball band says, and whether it may: names, figures, keys."""
