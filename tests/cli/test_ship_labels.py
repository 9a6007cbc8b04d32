"""`clew ship labels`: findings first, files only where the law is kept, its keys, refusals."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from pypdf import PdfReader
from tests.papers.labels.rasters import pages_of, read

Run = Callable[..., Result]
LAWFUL = ("ship", "labels", "Dunnow", "50", "--lot", "SA-340")
OVER = ("ship", "labels", "Sallowe", "100", "--lot", "OA-019")


@pytest.fixture
def run(clew: Run, mill_dir: Path) -> Run:
    text = (mill_dir / "mill.toml").read_text(encoding="utf-8")
    said = next(line for line in text.splitlines() if "band_text" in line and "cotton" in line)
    wrong = 'band_text = ["100 % cotton", "100 g (3.53 oz), 250 m (273 yd)"]'
    (mill_dir / "mill.toml").write_text(text.replace(said, wrong), encoding="utf-8")
    return lambda *arguments: clew(*arguments, "--mill", mill_dir)


@pytest.fixture
def plain(run: Run) -> Callable[..., dict[str, Any]]:
    def plain(*arguments: object) -> dict[str, Any]:
        found = json.loads(run(*arguments, "--json").stdout)
        assert isinstance(found, dict)
        return found

    return plain


def refused(result: Result, says: str) -> None:
    assert result.exit_code == 2, result.output
    assert says in result.output
    assert "Traceback" not in result.output


def test_a_lawful_band_is_said_so_first(run: Run, tmp_path: Path) -> None:
    files = [tmp_path / name for name in ("b.pdf", "c.pdf", "p.pdf")]
    result = run(
        *LAWFUL, "--bands", files[0], "--copies", 8, "--cases", files[1], "--case-count", 3,
        "--first", 4, "--pallet", files[2], "--order", "1045", "--customer", "Customer 30",
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("This band may be printed")
    assert [f"wrote {path}" in result.stdout for path in files] == [True] * 3
    said = " ".join(PdfReader(files[1]).pages[0].extract_text().split())
    for word in ("Case 4", "Case 5", "Customer 30", "1045", "120", "6.00 kg"):
        assert word in said
    codes = [code for path in files for page in pages_of(path.read_bytes(), tmp_path)
             for code in read(page)]  # fmt: skip
    texts = [code.bytes.decode() for code in codes]
    assert texts.count("9521234002017") == 8
    assert texts.count("011952123400201410SA-340") == 3
    assert texts.count("00095212340000000044") == 2


def test_a_declaration_rounded_up_stops_the_print(run: Run, tmp_path: Path) -> None:
    bands = tmp_path / "bands.pdf"
    result = run(*OVER, "--bands", bands)
    assert result.exit_code == 1
    assert result.stdout.startswith("This band may not be printed so: Declared mass")
    assert "100.07 g" in result.stdout
    assert "Nothing is written" in result.stdout
    assert not bands.exists()
    anyway = run(*OVER, "--bands", bands, "--anyway")
    assert anyway.exit_code == 1
    assert f"wrote {bands}" in anyway.stdout
    assert bands.read_bytes().startswith(b"%PDF")


def test_keys_of_the_plain_answer(plain: Callable[..., dict[str, Any]]) -> None:
    found = plain(*OVER)
    assert set(found) == {"ball", "lot", "colour", "markets", "lines", "figure_height_mm",
                          "e_mark", "lawful", "findings", "files"}  # fmt: skip
    assert found["lawful"] is False and found["files"] == []
    assert found["colour"] == "Oatmeal" and found["markets"] == ["us"]
    first = found["findings"][0]
    assert set(first) == {"key", "title", "passed", "law", "words", "source", "mark"}
    broken = [one["key"] for one in found["findings"] if one["law"] and one["passed"] is False]
    assert broken == ["mass-over"]


def test_what_is_wrong_is_refused_and_nothing_half_written(run: Run, tmp_path: Path) -> None:
    refused(run("ship", "labels", "Nobody", "--lot", "SA-340"), "no such ball")
    refused(run("ship", "labels", "Dunnow", "50", "--lot", "XX"), "no such dye lot")
    refused(run("ship", "labels", "Dunnow", "50", "--lot", "SL-207"), "a dye lot of another yarn")
    refused(run(*LAWFUL, "--case-count", 0), "no number of cases")
    refused(run(*LAWFUL, "--first", -1), "no first number")
    refused(run(*LAWFUL, "--order", "1" * 31), "no line of a label")
    refused(run(*LAWFUL, "--customer", "two\nlines"), "no line of a label")
    bands, cases = tmp_path / "b.pdf", tmp_path / "c.pdf"
    refused(run(*LAWFUL, "--cases", cases, "--bands", bands, "--copies", 0), "no number of bands")
    assert not bands.exists() and not cases.exists()
