"""`clew weigh charts`: what scripts rely on, what people read, and every bad file in one line."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from clew.cli.weigh.charts import charts
from clew.faults import BadInput

EWMA = (
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2,
    52.6, 52.4, 53.6, 52.1,
)  # fmt: skip
CUSUM = (
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
    324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
)  # fmt: skip


def column(name: str, values: Iterable[float]) -> str:
    return "".join(f"{cell}\n" for cell in (name, *values))


@pytest.fixture
def csv(tmp_path: Path) -> Any:
    def write(text: str) -> str:
        path = tmp_path / "weighings.csv"
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


def run(*words: str) -> str:
    result = CliRunner().invoke(charts, list(words))
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.output


def plain(*words: str) -> dict[str, Any]:
    found = json.loads(run(*words, "--json"))
    assert isinstance(found, dict)
    return found


def by_winder(shift_from: int = 99) -> str:
    """Two winders, twelve groups of four; the second one's level moves."""
    rows = ["group,time,winder,mass_g"]
    for group in range(1, 13):
        for winder in (3, 4):
            for ball in range(4):
                mass = 101.0 + (0.3, -0.3, 0.5, -0.5)[ball] + 0.1 * (group % 3)
                mass += 1.8 if winder == 4 and group >= shift_from else 0.0
                rows.append(f"{group},{9 + group // 6:02d}:{group % 6}0,{winder},{mass:.1f}")
    return "\n".join(rows) + "\n"


def test_an_ewma_of_bare_masses(csv: Any) -> None:
    path = csv(column("mass_g", EWMA))
    found = plain(
        path, "--chart", "ewma", "--lambda", "0.3", "--target", "50", "--sd", "2.0539", "--fixed"
    )
    assert (found["center"], found["signals"]) == (50.0, [])
    assert found["ucl"] == pytest.approx(52.5884, abs=1e-4)
    assert found["lcl"] == pytest.approx(47.4116, abs=1e-4)
    assert len(found["ucl_by_group"]) == 20
    exact = plain(path, "--chart", "ewma", "--lambda", "0.3", "--target", "50", "--sd", "2.0539")
    assert exact["ucl"] == pytest.approx(found["ucl"])
    assert exact["ucl_by_group"][0] < exact["ucl_by_group"][-1]


def test_a_cusum_in_grams_and_in_standard_deviations(csv: Any) -> None:
    path = csv("group,mass_g\n" + "".join(f"{n},{m}\n" for n, m in enumerate(CUSUM, 1)))
    words = ("--chart", "cusum", "--target", "325")
    found = plain(path, *words, "--k-abs", "0.3175", "--h-abs", "4.1959")
    assert found["signals"] == [14, 15, 16, 17, 18, 19, 20]
    assert (found["center"], found["ucl"], found["lcl"]) == (325.0, 4.1959, -4.1959)
    sds = plain(path, *words, "--sd", "0.635", "--k", "0.5", "--h", "6.6077")
    assert sds["signals"] == found["signals"]
    assert sds["points"] == pytest.approx(found["points"])
    (shift,) = found["shifts"]
    assert (shift["up"], shift["began"], shift["seen"]) == (True, 13, 14)
    said = run(path, *words, "--k-abs", "0.3175", "--h-abs", "4.1959")
    assert said.startswith("All balls: the level rose at group 13, by about 2.70 g to 327.70 g")


def test_consecutive_balls_make_groups_where_the_file_names_none(csv: Any) -> None:
    path = csv(column("mass_g", (*EWMA, 51)))
    found = plain(path)
    assert found["sizes"] == [5] * 4
    assert found["chart"] == "xbar-s"
    assert any("whole group of 5" in caution for caution in found["cautions"])
    assert plain(path, "--group-size", "3")["sizes"] == [3] * 7
    assert plain(path, "--chart", "individuals")["sizes"] == [1] * 21


def test_a_chart_a_winder_and_the_whole_file(csv: Any) -> None:
    path = csv(by_winder(shift_from=8))
    found = plain(path, "--by", "winder")
    assert list(found["charts"]) == ["3", "4"]
    assert list(found)[:4] == ["center", "ucl", "lcl", "signals"]
    assert found["sizes"] == [8] * 12
    assert found["charts"]["3"]["sizes"] == [4] * 12
    assert found["charts"]["3"]["signals"] == []
    assert found["charts"]["4"]["signals"]
    assert found["charts"]["4"]["clocks"][0] == "09:10"
    assert (found["value"], found["unit"], found["by"]) == ("mass", "g", "winder")
    assert "as weighed" in found["condition"]


def test_words_come_first(csv: Any) -> None:
    said = run(csv(by_winder(shift_from=12)), "--by", "winder")
    first, second, *_ = said.splitlines()
    assert first == (
        "Winder 3: no signal in 12 groups. Such a chart calls falsely once in about 370 groups."
    )
    assert second.startswith("Winder 4 signals at group 12 (11:00): mean 102.80 g, 1.")
    assert "above its centre" in second


def test_rules_say_what_they_cost(csv: Any) -> None:
    path = csv(by_winder())
    one = plain(path, "--rules", "2-of-3")
    many = plain(path, "--rules", "2-of-3,4-of-5", "--rules", "8-one-side")
    assert many["rules"] == ["beyond-3", "2-of-3", "4-of-5", "8-one-side"]
    assert many["false_call_groups"] < one["false_call_groups"] < 370
    assert "with these rules" in run(path, "--rules", "2-of-3")


def test_cones_are_counted_and_said(csv: Any) -> None:
    rows = ["group,cone,mass_g"]
    for n in range(120):
        cone = n // 8
        rows.append(f"{n // 4 + 1},{cone},{100 + (cone * 7 % 5) + 0.1 * (n % 3):.1f}")
    path = csv("\n".join(rows) + "\n")
    found = plain(path)
    near = plain(path, "--limits-from", "within")
    assert found["sd_from"] == "cones counted"
    assert near["sd_from"] == "within subgroup"
    assert found["limit_half_widths"] == near["limit_half_widths"]
    assert found["ucl"] > near["ucl"]
    assert "half width, cones counted" in run(path)


def test_lengths_where_only_some_balls_were_reeled(csv: Any) -> None:
    path = csv("mass_g,length_m\n100,330\n101,\n102,331\n,329\n100,330\n")
    found = plain(path, "--value", "length", "--chart", "individuals")
    assert found["points"] == [330.0, 331.0, 329.0, 330.0]
    assert found["unit"] == "m"
    assert found["left_out"] == ["1 ball has no length: left out."]
    said = run(path, "--value", "length", "--chart", "individuals")
    assert "1 ball has no length: left out." in said


def test_groups_by_number_or_as_they_come(csv: Any) -> None:
    rows = "10,103\n10,104\n2,100\n2,101\n1,99\n1,98\n"
    assert plain(csv("group,mass_g\n" + rows))["groups"] == ["1", "2", "10"]
    named = plain(csv("group,mass_g\n" + rows.replace("10,", "night,")))
    assert named["groups"] == ["night", "2", "1"]
    timed = "group,time,mass_g\nb,09:30,100\nb,09:31,101\na,09:00,99\na,09:01,99.5\n"
    found = plain(csv(timed))
    assert found["groups"] == ["a", "b"]
    assert found["clocks"] == ["09:00", "09:30"]


def test_individuals_take_the_balls_of_a_group_singly(csv: Any) -> None:
    path = csv("group,mass_g\n1,100\n1,101\n2,102\n2,100\n")
    found = plain(path, "--chart", "individuals")
    assert found["sizes"] == [1] * 4
    assert any("each ball is a point" in said for said in found["left_out"])
    single = plain(csv("group,mass_g\na,100\nb,101\nc,102\n"), "--chart", "individuals")
    assert single["groups"] == ["a", "b", "c"]


def test_gross_less_tare(csv: Any) -> None:
    found = plain(csv("gross_g,tare_g\n103,3\n104,3\n105,4\n"), "--chart", "individuals")
    assert found["points"] == [100.0, 101.0, 101.0]
    assert "tare" in found["condition"]


def test_counts_and_counts_per_unit(csv: Any) -> None:
    c = plain(csv(column("found", (16, 14, 28, 16, 12, 20, 10, 37))), "--chart", "c")
    assert c["signals"] == [8]
    assert isinstance(c["ucl"], float)
    u = plain(csv("group,found,units\nmon,14,10\ntue,12,8\nwed,20,13\n"), "--chart", "u")
    assert isinstance(u["ucl"], list)
    assert u["groups"] == ["mon", "tue", "wed"]
    assert "p_more" in u["dispersion"]
    said = run(csv(column("found", (3, 40, 2, 5, 1, 30))), "--chart", "c")
    assert "beyond the wider limits" in said


def test_all_equal_is_no_signal(csv: Any) -> None:
    path = csv("mass_g\n" + "100.1\n" * 30)
    for kind in ("xbar-s", "xbar-r", "individuals", "ewma", "cusum"):
        found = plain(path, "--chart", kind)
        assert found["signals"] == []
        assert any("alike" in caution for caution in found["cautions"])
        assert "no signal" in run(path, "--chart", kind)


def test_a_winder_with_one_ball_does_not_stop_the_others(csv: Any) -> None:
    path = csv("mass_g,winder\n100,1\n101,1\n100,2\n101,1\n")
    found = plain(path, "--by", "winder", "--chart", "individuals")
    assert list(found["charts"]) == ["1"]
    assert found["refused"] == {"2": "one ball tells no spread"}
    assert "Winder 2 bears no such chart" in run(path, "--by", "winder", "--chart", "individuals")


@pytest.mark.parametrize(
    ("text", "words", "said"),
    [
        ("", [], "an empty file"),
        ("mass_g\n", [], "no rows"),
        ("mass_g\n100\n", [], "one ball tells no spread"),
        ("mass_g\n100\n", ["--chart", "individuals"], "one ball tells no spread"),
        ("length_m\n330\n331\n", [], "no column of mass"),
        ("mass_g\n100\n101\n", ["--value", "length"], "a column is missing"),
        ("mass_g\n100\n101\n", ["--by", "winder"], "winder: a column is missing"),
        ("mass_g\nNaN\n-3\n", [], "not a number"),
        ("group,mass_g\n1,100\n2,101\n", [], "every group holds one ball"),
        ("mass_g\n1\n2\n", ["--chart", "cusum", "--k-abs", "1"], "half a pair"),
        ("mass_g\n1\n2\n", ["--chart", "cusum", "--k", "1", "--k-abs", "1"], "two ways"),
        ("mass_g\n1\n2\n", ["--rules", "zone"], "--rules: no such run rule"),
        ("mass_g\n1\n2\n", ["--sd", "-1"], "--sd: no such standard deviation"),
        ("mass_g\n1\n2\n", ["--target", "3 parsec"], "--target"),
        ("mass_g\n1\n2\n", ["--limits-from", "cones"], "--limits-from: cones cannot be told"),
        ("mass_g\n1\n2\n", ["--chart", "individuals", "--span", "3"], "--span"),
        ("found\n1.5\nx\n", ["--chart", "c"], ":3: found: not a number"),
        ("found\n1\n", ["--chart", "u"], "units: a column is missing"),
        ("found,units\n1,1\n2,2\n", ["--chart", "c"], "units differ"),
        ("found,units\n1,0\n", ["--chart", "u"], "no amount"),
        ("found\n1\n2\n", ["--chart", "c", "--width", "-1"], "--width: no such width"),
    ],
)
def test_bad_input_in_a_line(csv: Any, text: str, words: list[str], said: str) -> None:
    path = csv(text)
    with pytest.raises(BadInput) as bad:
        run(path, *words)
    assert said in str(bad.value)


def test_cones_of_one_name_in_two_lots_are_two(csv) -> None:
    rows = ["lot,cone,mass_g"]
    for lot, level in (("A", 100.0), ("B", 104.0)):
        for cone in (1, 2):
            rows += [f"{lot},{cone},{level + cone + 0.1 * ball}" for ball in range(5)]
    found = plain(csv("\n".join(rows) + "\n"), "--group-size", "5")
    assert any("each lot's are cones of their own" in said for said in found["left_out"])
    renamed = [row.replace("B,1", "B,3").replace("B,2", "B,4") for row in rows]
    other = plain(csv("\n".join(renamed) + "\n"), "--group-size", "5")
    assert found["ucl"] == pytest.approx(other["ucl"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--chart", "ewma", "--lambda", "0"], "--lambda: no such weight"),
        (["--chart", "ewma", "--head-start", "1"], "--head-start: no such head start"),
        (["--chart", "cusum", "--h", "inf"], "--h: no such limit"),
    ],
)
def test_a_fault_names_the_option(csv, words: list[str], said: str) -> None:
    path = csv("mass_g\n1\n2\n3\n")
    result = CliRunner().invoke(charts, [path, *words])
    assert isinstance(result.exception, BadInput)
    assert said in str(result.exception)


def test_one_group_is_one(csv) -> None:
    shown = run(csv("mass_g\n1\n2\n3\n"), "--group-size", "3")
    assert "no signal in 1 group." in shown
    assert "Limits from 1 group only" in shown


def test_a_headline_tells_a_few_shifts_of_many(csv) -> None:
    masses = [104.0 if ball // 20 % 2 else 96.0 for ball in range(400)]
    shown = run(
        csv(column("mass_g", masses)),
        "--chart",
        "cusum",
        "--target",
        "100",
        "--sd",
        "1",
        "--k",
        "1",
    )
    assert shown.splitlines()[0].count("the level") == 5
    assert "And 15 more shifts." in shown.splitlines()[0]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--chart", "cusum", "--width", "2"], "--width: chart cusum does not use it"),
        (["--chart", "individuals", "--lambda", "0.3"], "--lambda: chart individuals"),
        (["--chart", "ewma", "--k", "0.5"], "--k: chart ewma"),
        (["--chart", "c", "--target", "3"], "--target: chart c"),
    ],
)
def test_what_a_chart_does_not_use_is_refused(csv, words: list[str], said: str) -> None:
    result = CliRunner().invoke(charts, [csv("mass_g\n1\n2\n3\n"), *words])
    assert isinstance(result.exception, BadInput)
    assert said in str(result.exception)


def test_winders_come_in_the_order_of_their_numbers(csv) -> None:
    rows = "".join(f"{winder},{100 + ball}\n" for winder in (10, 4, 2) for ball in range(6))
    found = plain(csv("winder,mass_g\n" + rows), "--by", "winder", "--chart", "individuals")
    assert list(found["charts"]) == ["2", "4", "10"]


def test_lots_in_one_chart_are_named_where_cones_are_counted(csv) -> None:
    rows = "".join(
        f"{lot},{lot}{cone},{level + cone + 0.1 * ball}\n"
        for lot, level in (("A", 100.0), ("B", 104.0))
        for cone in (1, 2)
        for ball in range(5)
    )
    path = csv("lot,cone,mass_g\n" + rows)
    assert any("2 dye lots in one chart" in said for said in plain(path)["left_out"])
    assert not any("in one chart" in said for said in plain(path, "--by", "lot")["left_out"])
