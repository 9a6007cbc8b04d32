"""One shift of the demo mill, played from the order list to a ball that comes back."""
