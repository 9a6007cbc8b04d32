"""The second models that the tests hold Clew's own against, for the benchmarks too."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parent.parent / "tests" / "models"))
