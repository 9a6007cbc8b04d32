"""Marks the tests that run compiled kernels: they run once more with array bounds checked."""

from __future__ import annotations

import pytest

KERNELS = ("test_wind", "test_coverage", "test_stress", "test_release", "test_path")
"""Files whose name starts so run a compiled kernel directly."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.name.startswith(KERNELS) and item.path.name != "test_winder_setting.py":
            item.add_marker(pytest.mark.kernel)
