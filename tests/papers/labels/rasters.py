"""A PDF as pixels, and what an independent reader sees on it."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import zxingcpp
from numpy.typing import NDArray

Page = NDArray[np.uint8]


def pages_of(pdf: bytes, folder: Path, dpi: int = 200) -> list[Page]:
    """Draw a PDF in grey, page by page."""
    (folder / "drawn.pdf").write_bytes(pdf)
    for old in folder.glob("drawn-*.pgm"):
        old.unlink()
    subprocess.run(
        ["pdftoppm", "-gray", "-r", str(dpi), "drawn.pdf", "drawn"], cwd=folder, check=True
    )
    pages = []
    for path in sorted(folder.glob("drawn-*.pgm")):
        head, size, depth, pixels = path.read_bytes().split(b"\n", 3)
        assert (head, depth) == (b"P5", b"255")
        width, height = map(int, size.split())
        pages.append(np.frombuffer(pixels, np.uint8).reshape(height, width))
    return pages


def read(page: Page) -> list[Any]:
    """Read every bar code of a page, from the top down."""
    # a page at half its size has modules of two pixels, in which the reader sees numbers of its own
    found = zxingcpp.read_barcodes(page, try_downscale=False)
    return sorted(found, key=lambda one: (one.position.top_left.y // 20, one.position.top_left.x))


def module_mm(page: Page, code: Any, modules: int, dpi: int) -> float:
    """Measure a module: from the first dark pixel of a bar code to its last."""
    row = (code.position.top_left.y + code.position.bottom_left.y) // 2
    left, right = code.position.top_left.x, code.position.top_right.x
    dark = np.flatnonzero(page[row, max(left - 6, 0) : right + 7] < 128)
    return float(dark[-1] - dark[0] + 1) / dpi * 25.4 / modules


def white_beside(page: Page, code: Any, modules: int, left: int, right: int) -> Page | None:
    """Cut a bar code out with its white; None where something is printed in the white.

    ``modules`` is how many lie between the first dark and the last; ``left`` and ``right`` are the
    white modules it should have.
    """
    top, bottom = code.position.top_left.y + 4, code.position.bottom_left.y - 4
    row = page[(top + bottom) // 2]
    x_left, x_right = code.position.top_left.x, code.position.top_right.x
    dark = np.flatnonzero(row[max(x_left - 6, 0) : x_right + 7] < 128) + max(x_left - 6, 0)
    module = (dark[-1] - dark[0] + 1) / modules
    first, last = dark[0] - round(left * module) + 1, dark[-1] + round(right * module) - 1
    cut = page[top:bottom, first : last + 1]
    outside = np.concatenate(
        [page[top:bottom, first : dark[0] - 1], page[top:bottom, dark[-1] + 2 : last + 1]], axis=1
    )
    return cut if first >= 0 and bool((outside > 200).all()) else None


def framed(cut: Page, pixels: int = 60) -> Page:
    """Put black all round a cut, as on a dark carton."""
    return np.pad(cut, pixels, constant_values=0)
