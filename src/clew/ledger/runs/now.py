"""What stands on every line now, for a plan that begins from it."""

from __future__ import annotations

from clew.ledger.state.effective import CORRECTION
from clew.ledger.state.line_state import line_state
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import records_in_time
from clew.mill.model import Mill
from clew.plan.sequence.change import LineNow

_KINDS = ("run start", "run set", "run end", CORRECTION)
"""What says which run is on; a page that asks must not wait for a machine's readings."""


def lines_now(ledger: Ledger, mill: Mill) -> dict[str, LineNow]:
    """Say which ball and dye lot is in each line, or was in it last.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.

    Returns
    -------
    dict of str to LineNow
        By line; a line that never ran, or ran what the mill file no longer has, is left out. A
        run that goes on is taken to be free for the next at once: when it ends is not recorded.

    Raises
    ------
    CannotKeep
        When the ledger cannot be read.
    """
    found: dict[str, LineNow] = {}
    balls = {ball.name for ball in mill.ball}
    lots = {lot.lot for colour in mill.colour for lot in colour.dye_lot}
    for line in mill.line:
        told = records_in_time(ledger, line.name, kinds=_KINDS)
        state = line_state(told, line.name, zone=mill.mill.time_zone)
        run = state.run or state.last_run
        if run is not None and run.ball_name in balls and run.lot in lots:
            found[line.name] = LineNow(run.ball_name, run.lot)
    return found
