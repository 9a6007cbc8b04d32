"""A real browser at a real server: Debian's chromium at `clew serve` on a free port."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import (
    Browser,
    ConsoleMessage,
    Page,
    Playwright,
    Route,
    expect,
    sync_playwright,
)

CHROMIUM = [Path("/usr/bin/chromium-headless-shell"), Path("/usr/bin/chromium")]
"""The same engine; the first draws no windows, which makes opening a page three times as quick."""
ARGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
STARTS_WITHIN_S = 60

expect.set_options(timeout=20_000)  # the machine that tests may be busy with other things

OpenPage = Callable[..., Page]


LONGEST = ("test_browser_walk.py", "test_browser_manual.py", "test_browser_band.py")
"""Files that take long, or no other file would be left to run beside their end."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: item.path.name not in LONGEST)


@pytest.fixture(scope="session")
def playwright_here() -> Iterator[Playwright]:
    """Playwright, for our own chromium; it brings none along."""
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def chromium(playwright_here: Playwright) -> Iterator[Browser]:
    """Debian's chromium."""
    there = [path for path in CHROMIUM if path.exists()]
    if not there:
        pytest.skip("the browser tests need Debian's chromium")
    browser = playwright_here.chromium.launch(executable_path=str(there[0]), args=ARGS)
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of `clew serve` on the demo mill; its output is shown when it does not start."""
    from clew.mill import write_demo

    folder = tmp_path_factory.mktemp("mill") / "demo"
    write_demo(folder)
    command = [sys.executable, "-m", "clew.cli", "serve", "--mill", str(folder), "--port", "0"]
    server = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"}, start_new_session=True,
    )  # fmt: skip
    assert server.stdout is not None
    said: list[str] = []
    address = ""
    for line in server.stdout:
        said.append(line)
        found = re.search(r"http://127\.0\.0\.1:\d+", line)
        if found:
            address = found.group()
            break
    assert address, "the workbench did not start:\n" + "".join(said)
    yield address
    server.send_signal(signal.SIGINT)
    rest, _ = server.communicate(timeout=STARTS_WITHIN_S)
    assert "Traceback" not in rest, rest


def _is_error(said: ConsoleMessage) -> bool:
    """Errors of the page; a browser also writes every answer of 422 there, which is none."""
    return said.type == "error" and "status of 422" not in said.text


@pytest.fixture
def open_page(chromium: Browser, workbench: str) -> Iterator[OpenPage]:
    """Open a page; a request to anybody else, or an error in console or script, fails the test."""
    contexts = []
    wrong: list[str] = []

    def guarded(route: Route) -> None:
        if route.request.url.startswith((workbench + "/", "data:")):
            route.continue_()
            return
        wrong.append(f"asked {route.request.url}")
        route.abort()

    def opened(path: str, *, width: int = 1024, height: int = 768, **context: Any) -> Page:
        made = chromium.new_context(viewport={"width": width, "height": height}, **context)
        contexts.append(made)
        made.route("**/*", guarded)
        page = made.new_page()
        page.on("console", lambda said: wrong.append(said.text) if _is_error(said) else None)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(workbench + path)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not wrong
