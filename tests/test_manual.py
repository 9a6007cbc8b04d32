"""The manual shows what the program prints: its commands are run again, its made pages made again.

A command is run as it stands on the page, on the demo mill and the files that the page shows; what
it prints must hold every line shown, in order. What is not run here is in `NOT_HERE` with the
reason. With ``CLEW_MANUAL=all`` in the environment those that only take long are run as well.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from clew.cli.main import main
from clew.mill import write_demo
from manual_shown import DOCS, Shown, all_shown, is_table, missing_from, pieces

THAT_MORNING = "tells of one morning's ledger: its moments, hashes and numbers come but once"
BY_THE_CLOCK = "tells the moment it was run at"
NEEDS = "needs a broker, a database, a cluster or a server beside it"
LONG = "takes half a minute or more"
NOTHING_SHOWN = "the page shows no output"

NOT_HERE = {
    "cook_backup": BY_THE_CLOCK,
    "cook_ball_back": THAT_MORNING,
    "cook_cluster": NEEDS,
    "cook_postgresql": NEEDS,
    "cook_scale": NEEDS,
    "demo_day": THAT_MORNING,
    "demo_live": NEEDS,
    "epcis": THAT_MORNING,
    "install": NEEDS,
    "ledger_files": THAT_MORNING,
    "ledger_log": THAT_MORNING,
    "ledger_messages": "prints schemas into files: tests/ledger/ingest/test_described.py",
    "ledger_mqtt": NEEDS,
    "ledger_safekeeping": BY_THE_CLOCK,
    "line_crew": LONG,
    "lot_trace": THAT_MORNING,
    "plan_sequence": LONG,
    "plan_shift": "reads the plan of another page: tests/cli/test_plan_shift.py",
    "run": THAT_MORNING,
    "ship": THAT_MORNING,
    "ship_labels": BY_THE_CLOCK,
    "shift_report": THAT_MORNING,
    "sweeps": LONG,
    "tally_sheet": THAT_MORNING,
    "who_may": NEEDS,
    "cook_ball_back 3": "",
}
"""Pages, or single commands, that are not run here, and why; an empty reason: run all the same."""

SHOWN = all_shown()


def why_not(shown: Shown) -> str:
    """Say why a command is not run here; empty where it is."""
    if not shown.output:
        return NOTHING_SHOWN
    why = NOT_HERE.get(shown.key, NOT_HERE.get(shown.page, ""))
    return "" if why == LONG and os.environ.get("CLEW_MANUAL") == "all" else why


RUN = [one for one in SHOWN if not why_not(one)]


@pytest.fixture(scope="module")
def mills(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as the pages take it for granted: a demo mill by every name they use."""
    folder = tmp_path_factory.mktemp("manual")
    write_demo(folder)
    for name in ("my-mill", "demo-mill", "mill", "DIR"):
        write_demo(folder / name)
    heading, *rows = (folder / "shift-weighings.csv").read_text(encoding="utf-8").splitlines()
    for name, lot in (("before.csv", "SL-207"), ("after.csv", "SL-211")):
        of_lot = [row for row in rows if f",{lot}," in row]
        (folder / name).write_text("\n".join([heading, *of_lot, ""]), encoding="utf-8")
    return folder


@pytest.mark.long
@pytest.mark.parametrize("shown", RUN, ids=lambda one: one.key)
def test_a_command_prints_what_its_page_shows(
    shown: Shown, mills: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(mills)
    monkeypatch.setenv("COLUMNS", "100")
    mill_file = mills / "my-mill" / "mill.toml"
    sound = mill_file.read_text(encoding="utf-8")
    if shown.content:
        (mills / shown.file).write_text(shown.content, encoding="utf-8")
    if shown.appended:
        mill_file.write_text(sound + shown.appended, encoding="utf-8")
    words = [word.replace("init my-mill", "init new") for word in shown.words]
    if words[:2] == ["mill", "init"]:
        monkeypatch.chdir(mills / "DIR")
    try:
        printed = CliRunner().invoke(main, words).output
    finally:
        mill_file.write_text(sound, encoding="utf-8")
        if shown.content:
            (mills / shown.file).unlink()
    assert missing_from(printed, shown.output) == "", printed


def test_most_commands_are_run_and_the_list_of_the_others_is_no_longer_than_it_must_be() -> None:
    pages = {one.page for one in SHOWN}
    keys = {one.key for one in SHOWN}
    gone = [name for name in NOT_HERE if name not in pages | keys]
    assert set(gone) <= {"demo_day", "install", "tally_sheet", "shift_report"}
    assert len(RUN) >= 60


def test_the_comparison_can_fail() -> None:
    assert missing_from("a  b\nc d", "a b c") == ""
    assert missing_from("a b x c d", "a b\n…\nc d") == ""
    assert missing_from("c d a b", "a b\n…\nc d") == "from its beginning: 'c d'"
    assert missing_from("a b 1.5", "a b 1.6") == "after 'a b': '1.6'"
    assert pieces("a …\nb") == ["a", "b"]
    assert is_table("ball,mass_g\nA,1\nB,2\n")
    assert not is_table("clew lot test\nb,c\nd,e\n")


def test_the_made_pages_are_what_would_be_made_now(tmp_path: Path) -> None:
    program = (
        "import sys; from pathlib import Path; sys.path.insert(0, sys.argv[1]); import made_pages; "
        "made_pages.write_all(Path(sys.argv[2]))"
    )
    subprocess.run([sys.executable, "-c", program, str(DOCS), str(tmp_path)], check=True)
    made = {path.name: path.read_text(encoding="utf-8") for path in tmp_path.glob("*.md")}
    kept = {path.name: path.read_text(encoding="utf-8") for path in (DOCS / "made").glob("*.md")}
    assert sorted(made) == sorted(kept)
    assert [name for name in made if made[name] != kept[name]] == [], "make docs makes them anew"


def test_every_page_stands_in_the_contents_once() -> None:
    index = (DOCS / "index.md").read_text(encoding="utf-8")
    trees = re.findall(r"^```\{toctree\}\n(.*?)^```", index, re.MULTILINE | re.DOTALL)
    listed = [line for tree in trees for line in tree.splitlines() if not line.startswith(":")]
    listed = [name for name in listed if (DOCS / f"{name}.md").is_file()]
    lying = [path.stem for path in DOCS.glob("*.md") if path.stem != "index"]
    lying += [f"made/{path.stem}" for path in (DOCS / "made").glob("*.md")]
    assert sorted(listed) == sorted(lying)


_CODE = re.compile(r"(?:`|^\$ |^)(clew \w|make \w|python |pytest )", re.MULTILINE)
_NUMBER = re.compile(r"[−+±-]?\d[\d. ,]*( ?(%|g|m|s|ms|h|min))?( ±.*)?")
STATED = {
    "knots_cutting": "",
    "ledger_http": "statuses of HTTP",
    "ledger_messages": "what is plausible, held by tests/ledger/ingest/test_described.py",
    "lot_rules": "tables of law, each with its source",
    "mill_file": "what holds where a key is left out, held by made/dictionary_mill",
    "security": "numbers of requirements",
    "ship_labels": "sizes the symbols are drawn with",
    "who_may": "limits of the program",
}
"""Pages with tables of numbers that are stated, not worked out, and what they are."""


def tables_of_numbers(page: Path) -> list[tuple[str, str]]:
    """Give each table with three numbers or more, with the section it stands in."""
    found = []
    for section in re.split(r"^##+ ", page.read_text(encoding="utf-8"), flags=re.MULTILINE):
        text = re.sub(r"^```.*?^```", "", section, flags=re.MULTILINE | re.DOTALL)
        for table in re.findall(r"^\|.*\n\|[-: |]+\|\n((?:\|.*\n?)+)", text, re.MULTILINE):
            cells = [cell.strip() for row in table.splitlines() for cell in row.split("|")]
            if sum(_NUMBER.fullmatch(cell) is not None for cell in cells) >= 3:
                found.append((section.splitlines()[0], section))
    return found


def test_every_table_of_numbers_names_the_command_that_makes_it() -> None:
    found = [
        (page.stem, heading, section)
        for page in sorted(DOCS.glob("*.md"))
        for heading, section in tables_of_numbers(page)
    ]
    assert len(found) > 15
    unnamed = [
        (page, heading)
        for page, heading, section in found
        if not STATED.get(page) and not _CODE.search(section)
    ]
    assert unnamed == []


@pytest.mark.long
@pytest.mark.parametrize("name", ["cones-needed", "wind-bands"])
def test_a_table_that_no_command_prints_is_what_its_program_prints(name: str) -> None:
    text = "\n".join(page.read_text(encoding="utf-8") for page in DOCS.glob("*.md"))
    program = [sys.executable, str(DOCS / "tables.py"), name]
    rows = subprocess.run(program, check=True, capture_output=True, text=True).stdout.splitlines()
    assert len(rows) >= 5
    assert [row for row in rows if row not in text] == []
