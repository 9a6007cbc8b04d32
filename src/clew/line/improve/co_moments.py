"""Means and covariances of many columns, added up a handful of rows at a time."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from clew.line.simulate.records import Floats


@dataclass(slots=True)
class CoMoments:
    """Means and covariances of rows that come a handful at a time.

    Attributes
    ----------
    count : int
        Rows so far.
    mean : array, shape (columns,)
        Means.
    products : array, shape (columns, columns)
        Sums of products of distances from the means.
    """

    count: int = 0
    mean: Floats = field(default_factory=lambda: np.zeros(0))
    products: Floats = field(default_factory=lambda: np.zeros((0, 0)))

    def add(self, rows: Floats) -> None:
        """Take more rows of the same columns (Chan, Golub and LeVeque 1983, for products)."""
        count, mean = len(rows), rows.mean(axis=0)
        apart = rows - mean
        products = apart.T @ apart
        if self.count == 0:
            self.count, self.mean, self.products = count, mean, products
            return
        both, gap = self.count + count, mean - self.mean
        self.mean = self.mean + gap * count / both
        self.products = self.products + products + np.outer(gap, gap) * (self.count * count / both)
        self.count = both
