"""A workbench of the demo mill, asked without a network."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from fastapi import FastAPI
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


@pytest.fixture(scope="session")
def demo_app(demo_folder: Path) -> FastAPI:
    """The workbench of that mill; it keeps nothing that a test could change."""
    return create_app(demo_folder)


@pytest.fixture
def client(demo_app: FastAPI) -> TestClient:
    """Somebody who asks it and has asked nothing before."""
    return TestClient(demo_app, base_url="http://127.0.0.1", follow_redirects=False)
