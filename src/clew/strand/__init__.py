"""What the yarn is: plies, water and commercial mass, steam bulk, evenness, weight class."""
