"""What stands on the lines: the run that goes on, or the last one, of what the mill file has."""

from __future__ import annotations

from tests.ledger.state.told import demo_messages, say

from clew.ledger.runs.now import lines_now
from clew.ledger.state.live import LiveLine
from clew.ledger.store.ledger import Ledger
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.plan.sequence.change import LineNow

START = say("run start", "05:30:00", run="R1", lot="SL-207", ball_name="Querl 100")
END = say("run end", "08:00:00", run="R1", why="lot wound")
THEN = say("run start", "08:10:00", run="R2", lot="OA-023", ball_name="Querl 200")


def two_lines(mill: Mill) -> Mill:
    """The mill with a second line that never ran."""
    own: Line = mill.line[0]
    return mill.model_copy(update={"line": (own, own.model_copy(update={"name": "Line 2"}))})


def test_a_line_that_never_ran_is_left_out(ledger: Ledger, demo_mill: Mill) -> None:
    assert lines_now(ledger, demo_mill) == {}


def test_the_run_that_goes_on_stands_there_and_the_last_one_after_it(
    ledger: Ledger, demo_mill: Mill
) -> None:
    mill = two_lines(demo_mill)
    sloe = {"Line 1": LineNow("Querl 100", "SL-207")}
    ledger.append([START])
    assert lines_now(ledger, mill) == sloe
    ledger.append([END])
    assert lines_now(ledger, mill) == sloe
    ledger.append([THEN])
    assert lines_now(ledger, mill) == {"Line 1": LineNow("Querl 200", "OA-023")}


def test_what_the_mill_file_no_longer_has_is_left_out(ledger: Ledger, demo_mill: Mill) -> None:
    ledger.append([START])
    others = tuple(ball for ball in demo_mill.ball if ball.name != "Querl 100")
    assert lines_now(ledger, demo_mill.model_copy(update={"ball": others})) == {}
    colours = tuple(
        one.model_copy(update={"dye_lot": tuple(lot for lot in one.dye_lot if lot.lot != "SL-207")})
        for one in demo_mill.colour
    )
    assert lines_now(ledger, demo_mill.model_copy(update={"colour": colours})) == {}


def test_it_is_the_run_of_the_live_view(ledger: Ledger, demo_mill: Mill) -> None:
    """Which reads everything else on the line too."""
    ledger.append([START, *demo_messages()])
    for more in ([], [END], [THEN]):
        ledger.append(more)
        state = LiveLine(ledger, demo_mill, "Line 1").catch_up().state
        run = state.run or state.last_run
        assert run is not None
        assert lines_now(ledger, demo_mill) == {"Line 1": LineNow(run.ball_name, run.lot)}


def test_a_corrected_start_counts_as_corrected(ledger: Ledger, demo_mill: Mill) -> None:
    ledger.append([START])
    change = '{"lot": "SL-211"}'
    ledger.append([say("correction", "05:40:00", of_seq=1, change=change, why="the other lot")])
    assert lines_now(ledger, demo_mill) == {"Line 1": LineNow("Querl 100", "SL-211")}
