"""Whether everybody can use a page, as far as a program can tell: what axe finds on it.

Of axe's rules only those on colours see another page in the dark than in the light; in the dark
only they are asked.
"""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
SIZES_AND_LIGHTS = [(1024, 768, "light"), (390, 844, "light"), (390, 844, "dark")]
"""A page in the dark is the same page at any size."""
OF_COLOUR = ["color-contrast", "link-in-text-block"]


def out_of_reach(page: Page, within: str | None = None) -> list[str]:
    """Name what axe finds wrong, with the places; all of a page or what a selector names.

    What is right is not listed, which halves the time.
    """
    dark = page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches")
    asked = {"type": "rule", "values": OF_COLOUR} if dark else {"type": "tag", "values": RULES}
    options = {"runOnly": asked, "resultTypes": ["violations"]}
    found = Axe().run(page, within, options=options).response["violations"]
    return [
        f"{one['id']}: {one['help']}: {[node['html'][:200] for node in one['nodes'][:5]]}"
        for one in found
    ]
