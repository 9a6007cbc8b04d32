"""A watch over a folder, to be killed: as `clew ledger watch`, but without a pause between rounds.

`python crash_watcher.py URL FOLDER`
"""

from __future__ import annotations

import sys
import time
from pathlib import Path


def main(url: str, folder: Path) -> None:
    """Take what comes into the folder until killed."""
    from clew.ledger.events.reading import Sender
    from clew.ledger.ingest.watch import watch_folder
    from clew.ledger.store.opening import open_ledger

    def stopped(wait_s: float) -> bool:
        time.sleep(min(wait_s, 0.1))
        return False

    watch_folder(
        open_ledger(url), folder, Sender("file"), tell=lambda _: None, stopped=stopped,
        in_trouble=lambda cannot: print(cannot.reason, file=sys.stderr), every_s=0.01,
        settle_s=0.3, batch=40,
    )  # fmt: skip


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
