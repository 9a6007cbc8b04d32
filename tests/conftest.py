"""Things many tests start from."""

from __future__ import annotations

import importlib.resources
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from clew.mill.model import Mill

settings.register_profile(
    "fresh", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.register_profile("house", settings.get_profile("fresh"), derandomize=True, database=None)
settings.load_profile("house")
"""A change is judged by the same examples each time; `make explore` looks for new ones."""


@pytest.fixture(scope="session")
def demo_text() -> str:
    """The demo mill file as it is shipped."""
    return (importlib.resources.files("clew.mill") / "demo" / "mill.toml").read_text(
        encoding="utf-8"
    )


@pytest.fixture(scope="session")
def demo_mill(demo_text: str) -> Mill:
    """The demo mill, read."""
    from clew.mill import mill_from_text

    return mill_from_text(demo_text)


@pytest.fixture
def mill_dir(tmp_path: Path) -> Path:
    """A folder with the demo mill in it."""
    from clew.mill import write_demo

    write_demo(tmp_path / "mill")
    return tmp_path / "mill"


KERNELS = (
    "test_wind",
    "test_coverage",
    "test_stress",
    "test_release",
    "test_path",
    "test_cutting",
    "test_random_lines",
    "test_shift_agrees",
    "test_timeline",
)
"""Files whose name starts so run a compiled kernel directly."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.name.startswith(KERNELS) and item.path.name != "test_winder_setting.py":
            item.add_marker(pytest.mark.kernel)
