"""Whether everybody can use a page, as far as a program can tell: what axe finds on it."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def out_of_reach(page: Page, within: str | None = None) -> list[str]:
    """Name what axe finds wrong, with the places; all of a page or what a selector names.

    What is right is not listed, which halves the time.
    """
    options = {"runOnly": RULES, "resultTypes": ["violations"]}
    found = Axe().run(page, within, options=options).response["violations"]
    return [
        f"{one['id']}: {one['help']}: {[node['html'][:200] for node in one['nodes'][:5]]}"
        for one in found
    ]
