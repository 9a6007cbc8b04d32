"""`clew weigh arl`: one chart, and choosing one."""

import json

import pytest

WISH = ("--see", "1 g", "--within", 20, "--balls-a-week", 6000, "--ball-sd", "1 g")


def parts(line: str) -> list[str]:
    """The arguments of a command line without quotes."""
    return line.split()


def test_the_fixed_question(clew_json):
    found = clew_json(
        *parts("weigh arl --chart ewma --lambda 0.1 --width 2.814 --shift 1"),
    )
    assert found["arl"] == pytest.approx(10.3307, abs=1e-4)
    assert found["converged"] is True
    assert found["terms"] == {
        "width": 2.814,
        "weight": 0.1,
        "exact_limits": False,
        "head_start": 0.0,
    }


@pytest.mark.parametrize(
    ("terms", "expected"),
    [
        ("--chart xbar", 370.398),
        ("--chart xbar --width 2 --shift 1", 6.2498),
        ("--chart xbar --rules 2-of-3,4-of-5,8-one-side", 91.751),
        ("--chart xbar --rules beyond-3,2-of-3", 225.44),
        ("--chart ewma --lambda 0.5 --width 3.071 --head-start 0.5 --shift 1", 15.913),
        ("--chart ewma --lambda 0.1 --width 2.814 --exact-limits", 486.0),
        ("--chart cusum --k 0.5 --h 5", 465.44),
        ("--chart cusum --k 0.25 --h 8 --shift 2.5 --sides one --head-start 0.0125", 4.10616),
        ("--chart individuals-mr --width 2 --range-width 3", 18.231),
        ("--chart poisson-cusum --mean 0.25 --k 0.25 --h 10", 438.125),
        ("--chart poisson-cusum --mean 0.25 --k 0.25 --h 10 --lower", 436.764),
    ],
)
def test_every_chart(clew_json, terms, expected):
    assert clew_json("weigh", "arl", *terms.split())["arl"] == pytest.approx(expected, rel=2e-3)


def test_words_and_table(clew):
    result = clew(*parts("weigh arl --chart cusum --k 0.5 --h 5 --shift 1"))
    assert result.exit_code == 0
    assert result.output.startswith("A shift of 1 sd is called after 10.38 points on average.")
    assert "465.44" in result.output
    # the shift asked about has its own row
    assert "1.25 " in clew(*parts("weigh arl --chart cusum --k 0.5 --h 5 --shift 1.25")).output


def test_drawn_rules_are_seeded_and_say_their_error(clew, clew_json):
    asked = parts("weigh arl --chart xbar --rules 6-rising --runs 2000 --seed")
    first, again, other = (clew_json(*asked, seed) for seed in (3, 3, 4))
    assert first == again
    assert first["arl"] != other["arl"]
    assert abs(first["arl"] - 199.0) < 4.0 * first["standard_error"]
    assert "standard error" in clew(*asked, 3).output


def test_limits_set_on_few_groups(clew, clew_json):
    asked = parts("weigh arl --chart xbar --set-on 20 --group-size 5")
    found = clew_json(*asked)["set_on"]
    assert found["low_arl"] < 150 < found["known_arl"] < 700 < found["high_arl"]
    assert "Set on 20 groups of 5" in clew(*asked).output


def test_cones(clew, clew_json):
    asked = parts("weigh arl --chart xbar --balls-a-cone 10 --rho 0.3 --limits-from within")
    found = clew_json(*asked)["cones"]
    assert found["arl"] == pytest.approx(92.45, abs=0.01)
    assert found["believed_arl"] == pytest.approx(370.4, abs=0.01)
    assert "Balls of one cone are alike" in clew(*asked).output


def test_a_wish_that_can_be_had(clew, clew_json):
    result = clew("weigh", "arl", *WISH)
    assert result.exit_code == 0
    assert result.output.startswith("Yes: a shift of 1 g within 20 balls at 1 false alarm a week")
    found = clew_json("weigh", "arl", *WISH, "--groups", "1,2,4")
    assert found["can"] is True
    assert {one["group_size"] for one in found["table"]} == {1, 2, 4}
    assert found["best"]["balls_mean"] <= 20.0


def test_a_wish_that_cannot_be_had_exits_1(clew):
    asked = [*WISH[:-1], "3 g"]
    result = clew("weigh", "arl", *asked)
    assert result.exit_code == 1
    assert result.output.startswith("No: ")
    plain = clew("weigh", "arl", *asked, "--json")
    assert plain.exit_code == 1
    assert json.loads(plain.stdout)["can"] is False


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ("", "--chart: no question"),
        ("--chart ewma --lambda 0.1", "--width: missing"),
        ("--chart ewma --lambda 2 --width 3", "--lambda: out of range (got 2)"),
        ("--chart ewma --lambda 0.1 --width nan", "--width: out of range (got nan)"),
        ("--chart ewma --lambda 0.1 --width 8", "practically never calls"),
        ("--chart xbar --shift inf", "--shift: out of range (got inf)"),
        ("--chart xbar --lambda 0.1", "--lambda: chart xbar does not use it"),
        ("--chart xbar --rules 9-of-9", "--rules: unknown rule (got 9-of-9)"),
        ("--chart xbar --rules 2-of-3 --width 9", "--width: out of range (got 9)"),
        ("--chart xbar --rules 6-rising --runs 5", "--runs: out of range (got 5)"),
        ("--chart cusum --k 0.5 --h -1", "--h: out of range (got -1)"),
        ("--chart cusum --k 0.5 --h 5 --head-start 0.8", "--head-start: out of range (got 4)"),
        ("--chart poisson-cusum --k 1 --h 4", "--mean: missing"),
        ("--chart poisson-cusum --k 1 --h 4 --mean -1", "--mean: out of range"),
        ("--chart poisson-cusum --k 200 --h 10 --mean 201", "--mean: out of range (got 201)"),
        ("--chart ewma --lambda 0.01 --width 3 --exact-limits", "--lambda: out of range"),
        ("--chart xbar --set-on 1", "--set-on: out of range (got 1)"),
        ("--chart xbar --group-size 5", "--group-size: one without the other"),
        ("--chart xbar --rho 0.3", "--balls-a-cone, --rho: one without the other"),
        ("--chart xbar --shift 1 --set-on 20", "--set-on: worked out for false alarms"),
        ("--chart xbar --within 20", "--within: only to choose a chart"),
        ("--within 20", "--see"),
        ("--see 1g --within 20 --balls-a-week 6000", "--ball-sd: missing"),
        ("--see 1g --within 20 --balls-a-week 6000 --ball-sd 0g", "--ball-sd: out of range"),
        ("--see 1g --within 20 --balls-a-week 6 --ball-sd 1g", "--groups: no chart to compare"),
        (
            "--see 1g --within 20 --balls-a-week 6000 --ball-sd 1g --chart xbar",
            "--chart: the chart",
        ),
        (
            "--see 1g --within 20 --balls-a-week 6000 --ball-sd 1g --groups a",
            "--groups: not a list",
        ),
    ],
)
def test_bad_questions(clew, terms, words):
    result = clew("weigh", "arl", *terms.split())
    assert result.exit_code == 2, result.output
    assert words in result.stderr
    assert "Traceback" not in result.stderr


def test_the_mills_own_false_alarms_are_the_ones_allowed(clew_json, clew, mill_dir):
    text = (mill_dir / "mill.toml").read_text()
    (mill_dir / "mill.toml").write_text(
        text.replace("false_alarms_per_week = 1.0", "false_alarms_per_week = 3.0")
    )
    wish = ("weigh", "arl", *map(str, WISH), "--groups", "3")
    of_mill = clew_json(*wish, "--mill", str(mill_dir))
    assert of_mill["best"] == clew_json(*wish, "--false-alarms-a-week", "3")["best"]
    assert of_mill["best"] != clew_json(*wish)["best"]
    said = clew_json(*wish, "--mill", str(mill_dir), "--false-alarms-a-week", "1")
    assert said["best"] == clew_json(*wish)["best"]


def test_a_mill_is_of_no_use_to_one_chart(clew, mill_dir):
    done = clew("weigh", "arl", "--chart", "xbar", "--mill", str(mill_dir))
    assert done.exit_code == 2
    assert "--mill: only to choose a chart" in done.stderr
