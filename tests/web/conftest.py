"""A workbench of the demo mill, asked without a network."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.web.app import create_app

Opener = Callable[[Path], TestClient]


@pytest.fixture(scope="session")
def open_mill() -> Opener:
    """Open the workbench of a mill folder."""

    def opened(folder: Path) -> TestClient:
        return TestClient(create_app(folder), base_url="http://127.0.0.1", follow_redirects=False)

    return opened


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A demo mill that no test changes."""
    from clew.mill import write_demo

    folder = tmp_path_factory.mktemp("mill")
    write_demo(folder / "demo")
    return folder / "demo"


@pytest.fixture
def client(open_mill: Opener, demo_folder: Path) -> TestClient:
    """The workbench of the demo mill."""
    return open_mill(demo_folder)
