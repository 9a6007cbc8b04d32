"""The metre-by-metre line stands beside the tests that use it."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = str(Path(__file__).parent)
if HERE not in sys.path:
    sys.path.append(HERE)
