"""The checklist of the manual against the standard's own list of level-1 requirements."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"
LEVEL_1 = """
1.2.1 1.2.2 1.2.3 1.2.4 1.2.5 1.3.1 1.3.2 1.5.1
2.1.1 2.2.1 2.2.2 2.3.1
3.2.1 3.2.2 3.3.1 3.4.1 3.4.2 3.5.1 3.5.2 3.5.3
4.1.1 4.4.1
5.2.1 5.2.2 5.3.1 5.3.2
6.1.1 6.2.1 6.2.2 6.2.3 6.2.4 6.2.5 6.2.6 6.2.7 6.2.8 6.3.1 6.3.2 6.4.1 6.4.2
7.2.1 7.2.2 7.2.3 7.2.4 7.4.1 7.4.2
8.1.1 8.2.1 8.2.2 8.3.1
9.1.1 9.1.2 9.1.3 9.2.1
10.4.1 10.4.2 10.4.3 10.4.4 10.4.5
11.3.1 11.3.2 11.4.1
12.1.1 12.2.1 12.2.2
13.4.1
14.2.1 14.3.1
15.1.1 15.2.1 15.3.1
"""
"""As the OWASP Cornucopia project lists them: "Level 1 contains 70 controls"."""


@pytest.mark.outside(
    document="OWASP Application Security Verification Standard", edition="5.0.0 (2025)",
    section="level 1, all chapters", mark="READ",
)  # fmt: skip
def test_the_manual_answers_every_requirement_of_level_1() -> None:
    wanted = LEVEL_1.split()
    assert len(wanted) == 70
    rows = re.findall(
        r"^\| (\d+\.\d+\.\d+) \| ([^|]+) \| ([^|]+) \|$",
        (DOCS / "security.md").read_text(encoding="utf-8"),
        flags=re.M,
    )
    assert [number for number, _, _ in rows] == wanted
    allowed = {"met", "not met", "in part", "with TLS", "by the mill", "not here"}
    assert {how for _, how, _ in rows} <= allowed
    # what is claimed says where: a file, a page or a fact
    assert all(len(where) > 8 for _, how, where in rows if how == "met")


def test_what_the_manual_names_in_the_program_is_there() -> None:
    import importlib

    text = (DOCS / "security.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(clew(?:\.\w+)+)`", text))
    assert len(named) >= 4
    for name in named:
        importlib.import_module(name)


def test_every_test_that_the_checklist_names_is_there_and_tests_something() -> None:
    text = (DOCS / "security.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(tests/[\w/]+\.py)`", text))
    assert len(named) >= 15
    for name in named:
        source = (DOCS.parent / name).read_text(encoding="utf-8")
        assert "def test_" in source or name.startswith("tests/fuzz/"), name


def test_nothing_reads_what_a_bomb_can_stand_in() -> None:
    """No XML, YAML, archive or compressed file is read; pickles go to a cluster's workers alone."""
    bombs = {
        "xml",
        "lxml",
        "yaml",
        "zipfile",
        "tarfile",
        "gzip",
        "bz2",
        "lzma",
        "shelve",
        "marshal",
    }
    imported: dict[str, set[str]] = {}
    root = DOCS.parent / "src" / "clew"
    for path in root.rglob("*.py"):
        source = path.read_text(encoding="utf-8")
        for first in re.findall(r"^ *(?:from|import) (\w+)", source, flags=re.M):
            imported.setdefault(first, set()).add(path.relative_to(root).as_posix())
    assert not bombs & imported.keys()
    assert imported["pickle"] == {"campaign/cluster.py", "campaign/at_worker.py"}
    assert len(imported) > 40  # that the walk sees anything
