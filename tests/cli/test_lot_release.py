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
    assert done.output.startswith("RELEASED. This lot may go. Do not mix it with SL-211.")
    assert "must be a random one" not in done.output  # the command drew by chance itself
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(out.read_bytes())).pages)
    for words in ("Release certificate", "SL-207", "seed 1", "Customer 12", "1041"):
        assert words in text


def test_a_sample_from_the_head_of_a_file_is_not_taken_in_silence(run: Run) -> None:
    done = run(*LOT)
    assert "The sample is the first 50 of 708 balls in the order drawn" in done.output
    assert "--draw SEED makes one" in done.output


def test_what_was_not_looked_at_holds_the_lot(run: Run) -> None:
    held = run(*LOT, "--draw", "1", "--json")
    assert held.exit_code == 1
    found = json.loads(held.output)
    assert found["decision"] == "hold"
    assert found["reasons"] == ["Faults: not looked at", "Shade: not looked at"]
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
        (("--lot-size", "3"), "than the lot has (3)"),
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


def test_no_lot_goes_without_being_looked_through_for_knots(run: Run, mill: Path) -> None:
    """Another fault looked for does not stand in for the knots."""
    shade = str(mill / "shade-readings.csv")
    held = run(*LOT, "--found", "band=83,0", "--shade", shade, "--draw", "1", "--json")
    assert held.exit_code == 1
    found = json.loads(held.output)
    assert found["decision"] == "hold"
    assert found["reasons"] == ["Balls with more knots than the limit: not decided"]
    assert found["mends"][0]["words"] == (
        "look at 83 balls for those with more knots than the limit"
    )


def test_one_cone_read_says_nothing_of_the_dye_lot(run: Run, mill: Path) -> None:
    lines = (mill / "shade-readings.csv").read_text().splitlines()
    own = next(line for line in lines if line.startswith("SL-207"))
    (mill / "one.csv").write_text(f"{lines[0]}\n{own}\n")
    held = run(*LOT, *SEEN, "--shade", str(mill / "one.csv"), "--draw", "1")
    assert held.exit_code == 1
    assert "Read another cone of SL-207" in held.output


@pytest.mark.parametrize(("reeled", "ask"), [(0, "Reel 50 balls"), (3, "Reel 47 more balls")])
def test_a_declared_length_is_not_passed_by_reeling_less(
    run: Run, mill: Path, reeled: int, ask: str
) -> None:
    rows = ["ball,mass_g,length_m"]
    rows += [f"b{k},{101.0 + 0.1 * (k % 7):.1f},{204 if k < reeled else ''}" for k in range(60)]
    (mill / "sample.csv").write_text("\n".join(rows) + "\n")
    shade = str(mill / "shade-readings.csv")
    words = ("--ball", "Querl 100", "--lot", "SL-207", "--lot-size", "400", "--rule", "oiml-r87")
    signed = ("--accept-unconfirmed", "M. Aldous", "--shade", shade, "--found", "knots=82,0")
    held = run(*words, *signed, data="sample.csv")
    assert held.exit_code == 1
    assert held.output.startswith("HELD.")
    assert ask in held.output


def test_a_far_short_ball_beyond_the_sample_is_taken_out_by_name(run: Run, mill: Path) -> None:
    rows = ["ball,winder,mass_g"]
    rows += [f"b{k},{k % 6 + 1},{101.0 + 0.1 * (k % 7) - 20.0 * (k == 57)}" for k in range(60)]
    (mill / "sample.csv").write_text("\n".join(rows) + "\n")
    words = ("--ball", "Querl 100", "--lot-size", "400", "--rule", "uk-2006", "--json")
    found = json.loads(run(*words, data="sample.csv").output)
    assert found["decision"] == "rework"
    first = found["mends"][0]["words"]
    assert first == "take out and re-wind b57: below 91 g no ball may go"
    assert not any("winder" in mend["words"] for mend in found["mends"])


def test_a_plan_stretched_is_told_what_to_enter(run: Run) -> None:
    refused = run(*LOT, "--found", "knots=125,1")
    assert refused.exit_code == 2
    assert "the first 83 looked at" in refused.output


def test_the_paper_says_what_was_not_stated_and_what_the_plan_promises(
    run: Run, mill: Path
) -> None:
    out = mill / "certificate.pdf"
    run(*LOT, *SEEN, "--draw", "1", "--out", str(out), "--drawn-by", "A. Hand")
    pages = PdfReader(BytesIO(out.read_bytes())).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "Who A. Hand When not stated" in text
    assert "Knot limit 2 in a ball" in text
    assert "of lots with 6 % at most 10 % accepted" in text
    assert "reel, variation" not in text  # neither rule set judges a length


def test_an_error_of_the_scale_that_nobody_gave_is_called_assumed(run: Run, mill: Path) -> None:
    file = mill / "mill.toml"
    lines = [line for line in file.read_text().splitlines() if not line.startswith("scale_sd")]
    file.write_text("\n".join(lines) + "\n")
    out = mill / "certificate.pdf"
    run(*LOT, "--draw", "1", "--out", str(out))
    assert "assumed, the mill file says" in PdfReader(BytesIO(out.read_bytes())).pages[
        0
    ].extract_text().replace("\n", " ")


def test_how_many_to_look_at_is_said_where_nobody_looked(run: Run) -> None:
    assert "For each fault: Draw 83 balls: accept at 2" in run(*LOT, "--draw", "1").output
    assert "For each fault" not in run(*LOT, *SEEN, "--draw", "1").output


def test_a_fault_is_known_however_it_is_written(run: Run) -> None:
    found = json.loads(run(*LOT, "--found", "Knots=83,0", "--draw", "1", "--json").output)
    assert [one["pass"] for one in found["findings"] if one["subject"] == "fault"] == [True]
