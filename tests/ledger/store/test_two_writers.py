"""Two processes append at once: nothing lost, no gap, no fork in the chain."""

from __future__ import annotations

import subprocess
import sys
import threading

from tests.services import own_check

from clew.ledger.events.message import Message
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import heads_of

AT = 1_767_225_600_000_000
EACH = 120
WRITER = """
import sys
from clew.ledger.events.message import Message
from clew.ledger.store.opening import open_ledger
url, own, many = sys.argv[1], sys.argv[2], int(sys.argv[3])
ledger = open_ledger(url)
print("ready", flush=True)
sys.stdin.readline()
outcomes = []
for n in range(many):
    both = Message("north", "note", 1_767_225_600_000_000, "both", f"{n}", body={"note": "same"})
    mine = Message("south" if n % 3 else "north", "note", 1_767_225_600_000_000, own, f"{n}",
                   body={"note": own})
    outcomes += [one.outcome for one in ledger.append([mine, both] if n % 2 else [both, mine])]
print(" ".join(outcomes), flush=True)
"""


def test_processes(ledger: Ledger) -> None:
    """Each sends messages of its own, and each the same ones: of these just one is kept."""
    names = ("left", "right")
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, ledger.url, name, str(EACH)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )
        for name in names
    ]  # fmt: skip
    for process in processes:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
    outcomes = []
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("\n")
        process.stdin.flush()
    for process in processes:
        said, _ = process.communicate(timeout=120)
        assert process.returncode == 0
        outcomes += said.split()
    assert outcomes.count("kept") == 3 * EACH
    assert outcomes.count("already") == EACH
    rows = own_check.rows_of(ledger.url)
    assert sorted((row[own_check.SOURCE], int(row[own_check.KEY])) for row in rows) == sorted(
        (source, n) for source in (*names, "both") for n in range(EACH)
    )
    assert own_check.chain_faults(ledger.url) == []
    assert sum(heads_of(ledger).values()) == 3 * EACH


def test_threads_on_one_ledger_and_on_two(ledger: Ledger) -> None:
    other = open_ledger(ledger.url)
    failed: list[BaseException] = []

    def write(on: Ledger, own: str) -> None:
        try:
            for n in range(40):
                line = ("north", "south")[n % 2]
                on.append([Message(line, "note", AT, own, f"{n}", body={"note": own})])
        except BaseException as error:
            failed.append(error)

    threads = [
        threading.Thread(target=write, args=(on, own))
        for on, own in ((ledger, "a"), (ledger, "b"), (other, "c"), (other, "d"))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    other.close()
    assert failed == []
    assert heads_of(ledger) == {"north": 80, "south": 80}
    assert own_check.chain_faults(ledger.url) == []
