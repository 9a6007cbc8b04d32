"""How a ball is wound: the path of the strand, the growing surface, how it is covered."""
