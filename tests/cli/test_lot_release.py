"""`clew lot release`: the decision, its exit code, its certificate."""

from __future__ import annotations

import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from clew.cli.main import main
from clew.mill.demo_mill import write_demo

Run = Callable[..., Result]
LOT = ("--ball", "Querl 100", "--lot", "SL-207", "--lot-size", "720")
SEEN = ("--found", "knots=83,1", "--found", "band=83,0")


@pytest.fixture
def mill(tmp_path: Path) -> Path:
    write_demo(tmp_path)
    return tmp_path


@pytest.fixture
def run(mill: Path) -> Run:
    def call(*words: str, data: str = "shift-weighings.csv") -> Result:
        start = ["lot", "release", str(mill / data), "--mill", str(mill)]
        return CliRunner().invoke(main, [*start, *words])

    return call


def test_a_lot_with_everything_looked_at_goes(run: Run, mill: Path) -> None:
    out = mill / "certificate.pdf"
    shade = str(mill / "shade-readings.csv")
    done = run(*LOT, *SEEN, "--shade", shade, "--draw", "1", "--out", str(out), "--order", "1041")
    assert done.exit_code == 0, done.output
    assert done.output.startswith("RELEASED. This lot may go.")
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(out.read_bytes())).pages)
    for words in ("Release certificate", "SL-207", "seed 1", "Customer 12", "1041"):
        assert words in text


def test_what_was_not_looked_at_holds_the_lot(run: Run) -> None:
    held = run(*LOT, "--draw", "1", "--json")
    assert held.exit_code == 1
    found = json.loads(held.output)
    assert found["decision"] == "hold"
    assert found["reasons"] == ["fault: not looked at", "shade: not looked at"]
    assert len(found["mends"]) == 2
    assert found["verdicts"][0]["pass"] is True


def test_a_light_winder_is_to_be_rewound(run: Run, mill: Path) -> None:
    rows = ["ball,winder,mass_g"]
    rows += [f"b{k},{k % 6 + 1},{101.0 + 0.1 * (k % 7) - 9.0 * (k % 6 == 1)}" for k in range(60)]
    (mill / "sample.csv").write_text("\n".join(rows) + "\n")
    words = ("--ball", "Querl 100", "--lot-size", "480")
    done = run(*words, data="sample.csv")
    assert done.exit_code == 1
    assert done.output.startswith("REWORK.")
    assert "Re-wind the balls of winder 2, about " in done.output
    assert "GBP" in done.output


def test_the_same_seed_draws_the_same_sample(run: Run) -> None:
    one, two, other = (
        json.loads(run(*LOT, "--draw", seed, "--json").output) for seed in ("1", "1", "2")
    )
    assert one == two
    assert one["verdicts"][0]["mean"] != other["verdicts"][0]["mean"]


def test_a_table_not_confirmed_wants_a_name(run: Run) -> None:
    words = (*LOT, *SEEN, "--draw", "1", "--rule", "oiml-r87")
    assert "nobody checked" in run(*words).output or "not checked" in run(*words).output
    taken = json.loads(run(*words, "--accept-unconfirmed", "M. Aldous", "--json").output)
    assert taken["accepted_by"] == "M. Aldous"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--found", "knots"), "not a fault with its balls"),
        (("--found", "knots=5,6"), "more bad balls than were looked at"),
        (("--order", "9999"), "no such order"),
        (("--order", "1045"), "an order for Dunnow 50, Slate"),
        (("--lot", "XX-1"), "no balls of this lot"),
        (("--lot-size", "3"), "of a lot of 3"),
        (("--draw", "-1"), "not a seed"),
        (("--rule", "nothing"), "no such rule set"),
    ],
)
def test_what_cannot_be_is_one_line(run: Run, words: tuple[str, ...], said: str) -> None:
    refused = run(*LOT, *words)
    assert refused.exit_code == 2
    assert said in refused.output
    assert "Traceback" not in refused.output


def test_nothing_is_written_when_the_question_is_refused(run: Run, mill: Path) -> None:
    out = mill / "c.pdf"
    assert run(*LOT, "--order", "9999", "--out", str(out)).exit_code == 2
    assert not out.exists()
