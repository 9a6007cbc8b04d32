"""Sampling by attributes: knots over the limit, wrong bands, shade, shape."""
