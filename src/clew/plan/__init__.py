"""Before and after the shift: orders, colour order, packing, cost."""
