"""`clew lot test`: the fixed keys, the words, the exit codes, and bad input in one line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from clew.mill import write_demo
from clew.mill.net_content import built_in_text

Run = Callable[..., Result]
CASE_A = [
    "49.6", "50.3", "49.1", "50.8", "49.9", "48.9",
    "50.2", "49.4", "50.6", "49.7", "49.0", "50.1",
]  # fmt: skip


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str], Path]:
    def put(text: str) -> Path:
        path = tmp_path / "sample.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return put


def column(name: str, values: list[str]) -> str:
    return "\n".join([name, *values]) + "\n"


def test_keys_for_scripts(clew: Run, write: Any) -> None:
    data = write(column("mass_g", CASE_A))
    ran = clew(
        "lot", "test", data, "--rule", "us-category-a", "--declared", "50 g",
        "--lot-size", 200, "--json",
    )  # fmt: skip
    assert ran.exit_code == 0
    found = json.loads(ran.stdout)
    assert found["pass"] is True
    assert found["average_pass"] is True
    assert found["individual_pass"] is True
    assert found["mean"] == pytest.approx(49.8)
    assert found["sd"] == pytest.approx(0.62523, abs=5e-6)
    assert found["limit"] == pytest.approx(50 - 0.39702, abs=5e-6)
    assert found["n_required"] == 12
    assert found["over_limit_count"] == 0
    assert found["allowed"] == 0
    assert found["table_confirmed"] is False
    assert found["verdict"].startswith("table unconfirmed")
    assert found["marks"][0].startswith("MEMORY")
    assert len(found["tables"]["sha256"]) == 64
    assert found["cautions"][-1].startswith("for in-house control")


def test_in_words_never_a_bare_pass(clew: Run, write: Any) -> None:
    data = write(column("mass_g", CASE_A))
    ran = clew("lot", "test", data, "--rule", "us-category-a", "--declared", "50 g",
               "--lot-size", 200)  # fmt: skip
    assert ran.stdout.startswith("Table unconfirmed: pass by a table not checked")
    assert "your weights-and-measures office decides" in ran.stdout
    for figure in ("-2.400 g", "49.603 g", "0.3970 g", "0.635"):
        assert figure in ran.stdout


def test_a_failing_lot_names_its_ball(clew: Run, write: Any) -> None:
    rows = [f"B{place},{value}" for place, value in enumerate([*["51"] * 11, "46.3"], 1)]
    data = write(column("ball,mass_g", rows))
    ran = clew("lot", "test", data, "--rule", "us-category-a", "--declared", "50 g",
               "--lot-size", 200)  # fmt: skip
    assert ran.exit_code == 1
    assert "1 ball lies below 46.4 g, 0 allowed: B12." in ran.stdout


def test_not_decided_is_no_pass(clew: Run, write: Any) -> None:
    data = write(column("mass_g", CASE_A))
    ran = clew("lot", "test", data, "--rule", "uk-2006", "--declared", "50 g",
               "--lot-size", 400, "--json")  # fmt: skip
    assert ran.exit_code == 1
    found = json.loads(ran.stdout)
    assert found["pass"] is None
    assert found["complete"] is False
    assert found["n_required"] == 50
    assert found["verdict"] == "not decided: 12 of 50 balls"


def test_gross_masses_with_a_tare(clew: Run, write: Any) -> None:
    gross = [f"{float(value) + 1.2:.1f}" for value in CASE_A]
    data = write(column("gross_g", gross))
    ran = clew("lot", "test", data, "--rule", "us-category-a", "--declared", "50 g",
               "--lot-size", 200, "--tare", "1.2 g", "--json")  # fmt: skip
    found = json.loads(ran.stdout)
    assert found["mean"] == pytest.approx(49.8)
    (sheet,) = found["sheets"]
    assert sheet["nominal_gross"] == pytest.approx(51.2)
    assert sheet["balls"][1]["gross"] == pytest.approx(51.5)
    assert sheet["balls"][1]["error_units"] == 3


def test_mass_and_length_are_judged_jointly(clew: Run, write: Any) -> None:
    rows = [f"100.{place},{200 - place}" for place in range(10)]
    data = write(column("mass_g,length_m", rows))
    asked = ["lot", "test", data, "--rule", "us-thread-states", "--declared", "100 g"]
    good = clew(*asked, "--declared", "200 m", "--json")
    assert good.exit_code == 0
    found = json.loads(good.stdout)
    assert found["verdict"] == "pass"
    assert [sheet["quantity"] for sheet in found["sheets"]] == ["mass", "length"]
    bad = clew(*asked, "--declared", "220 m")
    assert bad.exit_code == 1
    assert "below the lowest that passes, 213.40 m (97 % of 220)" in bad.stdout


def test_us_length_cannot_pass_while_its_table_is_off(clew: Run, write: Any) -> None:
    data = write(column("length_m", ["201"] * 24))
    ran = clew("lot", "test", data, "--rule", "us-category-a", "--declared", "200 m",
               "--lot-size", 900, "--json")  # fmt: skip
    assert ran.exit_code == 1
    found = json.loads(ran.stdout)
    assert found["pass"] is None
    assert found["average_pass"] is True
    assert "off until its table is confirmed" in found["verdict"]


def test_allowance_with_its_source(clew: Run, write: Any) -> None:
    data = write(column("mass_g", ["49.2", "49.4"] * 6))
    asked = ["lot", "test", data, "--rule", "us-category-a", "--declared", "50 g",
             "--lot-size", 200]  # fmt: skip
    assert clew(*asked).exit_code == 1
    ran = clew(*asked, "--allowance", "2 %", "--allowance-source", "county office, letter")
    assert ran.exit_code == 0
    assert "moisture allowance of 1 g, by county office, letter" in ran.stdout
    assert "16 CFR 500.25(b)" in ran.stdout
    without = clew(*asked, "--allowance", "2 %")
    assert without.exit_code == 2
    assert "without its source" in without.stderr


def test_a_ball_of_the_mill_file(clew: Run, write: Any, tmp_path: Path) -> None:
    write_demo(tmp_path / "mill")
    data = write(column("mass_g", ["100.5", "101.5"] * 15))
    ran = clew("lot", "test", data, "--mill", tmp_path / "mill", "--ball", "Querl 100",
               "--lot-size", 400, "--json")  # fmt: skip
    assert ran.exit_code == 0
    found = json.loads(ran.stdout)
    assert (found["rule"], found["declared"]) == ("eu-average", 100.0)
    assert found["verdict"] == "pass"
    assert any("uk-2006" in caution for caution in found["cautions"])
    gross = write(column("gross_g", ["102.6", "103.6"] * 15))
    ran = clew("lot", "test", gross, "--mill", tmp_path / "mill", "--ball", "Querl 100",
               "--lot-size", 400, "--json")  # fmt: skip
    found = json.loads(ran.stdout)
    assert found["mean"] == pytest.approx(101.0)
    assert "the tare is that of the mill file" in found["cautions"]


def test_commercial_mass_names_its_convention(clew: Run, write: Any, tmp_path: Path) -> None:
    write_demo(tmp_path / "mill")
    data = write(column("mass_g", ["100.5", "101.5"] * 15))
    asked = ["lot", "test", data, "--mill", tmp_path / "mill", "--ball", "Querl 100",
             "--lot-size", 400, "--commercial", "--regain", "9.5 %"]  # fmt: skip
    means = []
    for shares in ("dry", "conditioned"):
        ran = clew(*asked, "--shares-on", shares, "--json")
        found = json.loads(ran.stdout)
        assert found["table_confirmed"] is False
        assert f"shares of the {shares} mass" in found["sheets"][0]["condition"]
        means.append(found["mean"])
    assert means[0] == pytest.approx(101.0 * (1 + 0.55 * 0.1825 + 0.45 * 0.02) / 1.095)
    assert means[0] != pytest.approx(means[1], abs=0.01)
    us = clew(*asked, "--rule", "us-category-a")
    assert us.exit_code == 2
    assert "commercial regain" in us.stderr


def test_a_mills_own_tables_are_named(clew: Run, write: Any, tmp_path: Path) -> None:
    told = 'confirmed_by = "A. Hand, 2026-11-25, the printed Appendix A"'
    own = tmp_path / "net_content.toml"
    own.write_text(built_in_text().replace('confirmed_by = ""', told), encoding="utf-8")
    data = write(column("mass_g", CASE_A))
    ran = clew("lot", "test", data, "--rule", "us-category-a", "--declared", "50 g",
               "--lot-size", 200, "--mill", tmp_path)  # fmt: skip
    assert ran.exit_code == 0
    assert ran.stdout.startswith("Pass.")
    assert "confirmed by A. Hand" in ran.stdout
    assert "net_content.toml, sha256" in ran.stdout.replace("\n", "")


def test_one_lot_of_a_file_of_two(clew: Run, write: Any) -> None:
    rows = [f"L1,{value}" for value in CASE_A] + ["L2,40"] * 12
    data = write(column("lot,mass_g", rows))
    asked = ["lot", "test", data, "--rule", "us-category-a", "--declared", "50 g",
             "--lot-size", 200]  # fmt: skip
    assert "the file holds 2 lots" in clew(*asked).stdout
    one = clew(*asked, "--lot", "L1")
    assert one.exit_code == 0
    assert "lots" not in one.stdout
    assert clew(*asked, "--lot", "L3").exit_code == 2


@pytest.mark.parametrize(
    ("text", "more", "words"),
    [
        ("", [], "empty"),
        ("mass_g\n", [], "no rows"),
        ("mass_g\nnan\n", [], "mass_g"),
        ("mass_g\n-5\n", [], "mass_g"),
        ("length_m\n200\n", [], "mass"),
        ("gross_g\n50\n", [], "tare"),
        ("mass_g\n50\n", ["--tare", "1 g"], "net"),
        ("mass_g\n50\n", ["--declared", "0 g"], "nothing"),
        ("mass_g\n50\n", ["--declared", "5 tex"], "count"),
        ("mass_g\n50\n", ["--declared", "fifty"], "--declared"),
        ("mass_g\n50\n", ["--plan", "double"], "double plan"),
        ("mass_g\n50\n", ["--lot-size", "0"], "lot"),
        ("mass_g\n50\n51\n", ["--lot-size", "1"], "more balls measured (2) than the lot has (1)"),
        ("mass_g\n50\n", ["--division", "0 g"], "division"),
        ("mass_g\n50\n", ["--commercial"], "regain"),
        ("mass_g\n50\n", ["--allowance", "lots", "--allowance-source", "x"], "--allowance"),
        ("mass_g\n50\n", ["--rule", "uk-2006", "--declared", "100 m"], "not covered"),
        ("mass_g\n50\n", ["--rule", "uk-2006", "--declared", "2 oz"], "2 declarations"),
    ],
)
def test_bad_input_is_a_line_and_exit_code_2(
    clew: Run, write: Any, text: str, more: list[str], words: str
) -> None:
    asked = ["--rule", "us-category-a", "--declared", "50 g", "--lot-size", "200", *more]
    ran = clew("lot", "test", write(text), *asked)
    assert ran.exit_code == 2, ran.output
    assert words in ran.stderr
    assert "Traceback" not in ran.output


@pytest.mark.parametrize("missing", ["--rule", "--declared", "--lot-size"])
def test_what_must_be_said(clew: Run, write: Any, missing: str) -> None:
    asked = {"--rule": "us-category-a", "--declared": "50 g", "--lot-size": "200"}
    del asked[missing]
    ran = clew("lot", "test", write("mass_g\n50\n"), *sum(asked.items(), ()))
    assert ran.exit_code == 2
    assert missing in ran.stderr


def test_the_basis_of_the_mill_file_is_followed_or_told(
    clew: Run, write: Any, tmp_path: Path
) -> None:
    write_demo(tmp_path / "mill")
    file = tmp_path / "mill" / "mill.toml"
    text = file.read_text(encoding="utf-8")
    text = text.replace('mass_basis = "as weighed"', 'mass_basis = "commercial"', 1)
    file.write_text(text, encoding="utf-8")
    data = write(column("mass_g", ["100.5", "101.5"] * 15))
    asked = ["lot", "test", data, "--mill", tmp_path / "mill", "--ball", "Querl 100",
             "--lot-size", 400, "--json"]  # fmt: skip
    without_regain = clew(*asked)
    assert without_regain.exit_code == 2
    assert "no regain at weighing" in without_regain.stderr
    carried = json.loads(clew(*asked, "--regain", "9.5 %").stdout)
    assert carried["mean"] > 101.5
    weighed = json.loads(clew(*asked, "--rule", "us-category-a").stdout)
    assert weighed["mean"] == pytest.approx(101.0, abs=0.1)
    assert any("judged as weighed here" in caution for caution in weighed["cautions"])


def test_a_length_the_mill_declares_and_nobody_reeled_is_told(
    clew: Run, write: Any, mill_dir: Path
) -> None:
    data = write(column("mass_g", ["101.2", "101.4"] * 25))
    words = ("lot", "test", data, "--ball", "Querl 100", "--mill", mill_dir, "--lot-size", 400)
    assert "the mill file declares 200 m as well" in clew(*words, "--rule", "oiml-r87").output
    assert "200 m as well" not in clew(*words, "--rule", "eu-average").output


def test_what_was_entered_and_not_used_is_told(clew: Run, write: Any) -> None:
    words = ("--rule", "uk-2006", "--declared", "50 g", "--lot-size", 12)
    net = write(column("mass_g", CASE_A))
    assert "the regain entered was not used" in clew(
        "lot", "test", net, *words, "--regain", "12 %"
    ).output  # fmt: skip
    gross = write("gross_g,tare_g\n" + "52.5,2.1\n" * 12)
    told = clew("lot", "test", gross, *words, "--tare", "2.2 g").output
    assert "the tare was entered; the 12 weighed in the file were not used" in told


def test_the_thread_laws_ask_for_ten_however_many_were_weighed(clew: Run, write: Any) -> None:
    data = str(write(column("mass_g", ["99.5"] * 12)))
    words = ["lot", "test", data, "--rule", "us-thread-states", "--declared", "100 g", "--json"]
    found = json.loads(clew(*words).output)
    assert (found["n_required"], found["sheets"][0]["n_used"]) == (10, 12)
    assert found["pass"] is True


def test_of_many_balls_only_the_short_ones_are_listed(clew: Run, write: Any) -> None:
    """The answer stays on the screen; the paper and --json have every ball."""
    data = write(column("mass_g", ["95.4"] + ["101.0"] * 79))
    ran = clew("lot", "test", data, "--rule", "eu-average", "--declared", "100 g",
               "--lot-size", 6000)  # fmt: skip
    assert ran.stdout.count("101.0") == 0
    assert "95.4" in ran.stdout
    assert "And 79 more that are not short; --json lists them all." in ran.stdout
