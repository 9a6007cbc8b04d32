"""Two at once: no serial, case or delivery number is ever taken twice, on either database."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from tests.ledger.shipping.bench import BY, Bench, decide, tell

from clew.faults import BadInput
from clew.ledger.events.message import Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.shipping.turn import keep_in_turn
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records, lines_of
from clew.ledger.store.trouble import CannotKeep
from clew.mill.gs1_keys import sscc_of
from clew.mill.model import Mill

HANDS, EACH = 4, 4


def at_once(work: Callable[[int], None]) -> None:
    """Have all hands begin at one moment; what one of them meets is raised here."""
    gate, met = threading.Barrier(HANDS), []

    def hand(number: int) -> None:
        gate.wait()
        try:
            work(number)
        except BaseException as error:
            met.append(error)

    threads = [threading.Thread(target=hand, args=(number,)) for number in range(HANDS)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    if met:
        raise met[0]


def packages(ledger: Ledger) -> list[str]:
    return [
        one.package
        for line in lines_of(ledger)
        for one in chain_records(ledger, line)
        if one.kind in ("case closed", "pallet closed")
    ]


def two_lines(mill: Mill) -> Mill:
    line = mill.line[0].model_copy(update={"name": "Line 2"})
    return mill.model_copy(update={"line": (mill.line[0], line)})


def test_hands_on_two_lines_never_get_one_serial(bench: Bench, ledger_url: str) -> None:
    mill = two_lines(bench.mill)

    def close(number: int) -> None:
        with closing(open_ledger(ledger_url)) as ledger:
            own, line = Bench(ledger, mill), f"Line {1 + number % 2}"
            for _ in range(EACH):
                own.case(2, line_name=line, ball_name="Querl 100", anyway="race")

    at_once(close)
    found = packages(bench.ledger)
    assert len(found) == HANDS * EACH
    assert sorted(int(sscc_of(one)[8:17]) for one in found) == list(range(1, HANDS * EACH + 1))


def test_the_last_balls_go_into_one_case_only(bench: Bench, ledger_url: str) -> None:
    outcomes: list[str] = []

    def close(_number: int) -> None:
        with closing(open_ledger(ledger_url)) as ledger:
            try:
                Bench(ledger, bench.mill).case(30)
                outcomes.append("closed")
            except BadInput:
                outcomes.append("refused")

    at_once(close)
    assert sorted(outcomes) == ["closed"] + ["refused"] * (HANDS - 1)


def test_one_case_goes_onto_one_pallet_and_out_once(bench: Bench, ledger_url: str) -> None:
    decide(bench.ledger, "SL-207", "release")
    case = bench.case(10)
    outcomes: list[str] = []

    def stack(_number: int) -> None:
        with closing(open_ledger(ledger_url)) as ledger:
            try:
                outcomes.append(Bench(ledger, bench.mill).pallet([case]))
            except BadInput as bad:
                outcomes.append(str(bad.faults[0].what))

    at_once(stack)
    (pallet,) = [one for one in outcomes if one.isdecimal()]
    assert outcomes.count(f"case {case} is on pallet {pallet}") == HANDS - 1
    deliveries: list[str] = []

    def leave(_number: int) -> None:
        with closing(open_ledger(ledger_url)) as ledger:
            shipping = Bench(ledger, bench.mill).ship([pallet])
        assert shipping.consignment is not None
        deliveries.append(f"{shipping.consignment.delivery} {shipping.already}")

    at_once(leave)
    assert sorted(deliveries) == ["D-0001 False"] + ["D-0001 True"] * (HANDS - 1)
    told = [one for one in chain_records(bench.ledger, "") if one.kind == "shipped"]
    assert len(told) == 1


SCRIPT = """
import sys
import uuid
from pathlib import Path
from clew.ledger.shipping.case import CaseQuestion, close_case
from clew.ledger.shipping.turn import keep_in_turn
from clew.ledger.store.opening import open_ledger
from clew.mill import mill_from_text

mill = mill_from_text(Path(sys.argv[2]).read_text(encoding="utf-8"))
ledger = open_ledger(sys.argv[1])
for _ in range(4):
    key = uuid.uuid4().hex
    asked = CaseQuestion(("SL-207",), 1, ledger.clock(), "Ina", "clew ship", key)
    found, _ = keep_in_turn(
        ledger, lambda: close_case(ledger, mill, asked), lambda made: [made.message]
    )
    print(found.message.package, flush=True)
ledger.close()
"""


def test_processes_never_get_one_serial(
    bench: Bench, ledger: Ledger, ledger_url: str, demo_text: str, tmp_path: Path
) -> None:
    (tmp_path / "mill.toml").write_text(demo_text, encoding="utf-8")
    running = [
        subprocess.Popen(
            [sys.executable, "-c", SCRIPT, ledger_url, str(tmp_path / "mill.toml")],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )
        for _ in range(2)
    ]  # fmt: skip
    told = [one.communicate(timeout=120) for one in running]
    assert [one.returncode for one in running] == [0, 0], told
    names = [name for out, _ in told for name in out.split()]
    assert len(set(names)) == 8 and sorted(names) == sorted(packages(ledger))


def _said(ledger: Ledger, key: str) -> list[Message]:
    found = {"kind": "case closed", "line": "Line 1", "lot": "SL-207", "package": key, "balls": 1}
    return [read_message(found, Sender("t", BY, "", "", ledger.clock(), key))]


def test_what_somebody_else_told_meanwhile_is_read_anew(ledger: Ledger) -> None:
    seen: list[int] = []

    def work() -> str:
        seen.append(len(packages(ledger)))
        if len(seen) < 3:
            tell(ledger, "case closed", ledger.clock(), f"other {len(seen)}", lot="SL-207",
                 balls=1, package=f"X{len(seen)}")  # fmt: skip
        return f"K{len(seen)}"

    made, taken = keep_in_turn(ledger, work, lambda key: _said(ledger, key))
    assert (made, seen, taken[0].outcome) == ("K3", [0, 1, 2], "kept")
    assert packages(ledger) == ["X1", "X2", "K3"]


def test_a_doff_meanwhile_is_nobodys_turn(ledger: Ledger) -> None:
    seen: list[int] = []

    def work() -> str:
        seen.append(1)
        tell(ledger, "doff", ledger.clock(), f"d{len(seen)}", lane=1, ball=len(seen))
        return "K"

    keep_in_turn(ledger, work, lambda key: _said(ledger, key))
    assert seen == [1]


def test_it_is_given_up_after_some_tries_and_nothing_is_kept(ledger: Ledger) -> None:
    count = iter(range(100))

    def work() -> str:
        number = next(count)
        tell(ledger, "case closed", ledger.clock(), f"o{number}", lot="SL-207", balls=1,
             package=f"X{number}")  # fmt: skip
        return "K"

    with pytest.raises(CannotKeep, match="others close cases"):
        keep_in_turn(ledger, work, lambda key: _said(ledger, key), tries=3)
    assert packages(ledger) == ["X0", "X1", "X2"]


def test_what_the_work_raises_goes_through_and_no_message_keeps_nothing(ledger: Ledger) -> None:
    def work() -> str:
        raise BadInput("no")

    with pytest.raises(BadInput, match="no"):
        keep_in_turn(ledger, work, lambda key: _said(ledger, key))
    assert keep_in_turn(ledger, lambda: 5, lambda _made: ()) == (5, ())
    assert lines_of(ledger) == ()


def test_a_key_that_was_used_meanwhile_is_not_taken_for_kept(ledger: Ledger) -> None:
    def work() -> str:
        ledger.append(_said(ledger, "K"))
        return "K"

    with pytest.raises(ValueError, match="a key that another message has"):
        keep_in_turn(ledger, work, lambda key: _said(ledger, key))
    assert packages(ledger) == ["K"]
