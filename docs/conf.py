"""Sphinx settings of the manual; some pages are made from the program and its tests first."""

import importlib.metadata
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import made_pages

made_pages.write_all()

project = "Clew"
author = "The Clew developers"
copyright = "2026, the Clew developers"  # noqa: A001 - the name Sphinx asks for
version = release = importlib.metadata.version("clew")
extensions = ["myst_parser", "offline_math"]
myst_enable_extensions = ["dollarmath", "deflist", "colon_fence"]
myst_heading_anchors = 3
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build", "_made"]
html_theme = "furo"
html_title = "Clew, the manual"
html_math_renderer = "mathml"
templates_path: list[str] = []
nitpicky = True
html_static_path = ["_static"]
