"""`clew ball`: the keys programs rely on, the card, the first balls."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
Json = Callable[..., dict[str, Any]]


def test_turns_has_the_keys_programs_rely_on(clew_json: Json, mill_dir: Path) -> None:
    found = clew_json("ball", "turns", "Querl 100", "--mill", mill_dir)
    assert isinstance(found["turns"], int)
    assert found["binding"] in {"mass", "length"}
    assert found["mass_g_interval"][0] < found["mass_g"] < found["mass_g_interval"][1]
    assert found["length_m_interval"][0] < found["length_m"] < found["length_m_interval"][1]
    assert 0 < found["length_per_turn_mm_first"] < found["length_per_turn_mm_last"]


def test_a_check_draws_with_the_seed_it_shows(clew_json: Json, mill_dir: Path) -> None:
    arguments = ("ball", "turns", "Querl 100", "--mill", mill_dir, "--check", "2000")
    first, again, other = (clew_json(*arguments, "--seed", seed)["drawn"] for seed in (5, 5, 6))
    assert first == again
    assert first["seed"] == 5
    assert first["mass_g_interval"] != other["mass_g_interval"]


def test_turns_for_people_says_what_binds(clew: Run, mill_dir: Path) -> None:
    shown = clew("ball", "turns", "dunnow 50", "--mill", mill_dir, "--units", "yard")
    assert shown.exit_code == 0
    assert "The declared length binds" in shown.stdout
    assert " oz" in shown.stdout
    assert " yd" in shown.stdout


def test_build_gives_size_as_a_range_until_balls_are_measured(
    clew_json: Json, mill_dir: Path
) -> None:
    found = clew_json("ball", "build", "Querl 100", "--mill", mill_dir)
    assert found["packed_volume_error"] == pytest.approx(0.0, abs=1e-9)
    assert found["size"]["measured"] is False
    assert found["size"]["relaxed"]["diameter_mm"]["central"] is None
    assert (
        found["size"]["relaxed"]["diameter_mm"]["low"]
        < found["size"]["relaxed"]["diameter_mm"]["high"]
    )


def test_three_measured_balls_turn_the_range_into_a_number(clew_json: Json, mill_dir: Path) -> None:
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8")
    measured = "".join(
        f'\n[[ball.measured]]\nwound_diameter = "{wound} mm"\nwound_width = "102 mm"\n'
        f'rest_diameter = "{wound + 3} mm"\nrest_width = "104 mm"\n'
        for wound in (103, 104, 103.5)
    )
    head, tail = text.split('[[ball]]\nname = "Querl 200"')
    file.write_text(head + measured + '\n[[ball]]\nname = "Querl 200"' + tail, encoding="utf-8")
    before = clew_json("ball", "build", "Querl 200", "--mill", mill_dir)["size"]["relaxed"][
        "diameter_mm"
    ]
    found = clew_json("ball", "build", "Querl 100", "--mill", mill_dir)["size"]
    assert before["central"] is None
    assert found["measured"] is True
    relaxed = found["relaxed"]["diameter_mm"]
    assert relaxed["low"] < relaxed["central"] < relaxed["high"]


def test_first_balls_advise_each_winder_and_carry_the_belief_on(
    clew_json: Json, clew: Run, mill_dir: Path, tmp_path: Path
) -> None:
    common = ("--ball", "Querl 100", "--dye-lot", "SL-207", "--mill", mill_dir)
    file, belief = mill_dir / "first-balls.csv", tmp_path / "belief.json"
    found = clew_json("ball", "first-balls", file, *common, "--save", belief)
    assert [row["winder"] for row in found["winders"]] == [1, 2, 3, 4, 5, 6]
    four = found["winders"][3]["setting"]
    assert four["worth_it"]
    assert four["change_counts"] < 0
    # the same balls a second time are refused on one line; new ones continue the belief
    again = clew("ball", "first-balls", file, *common, "--belief", belief)
    assert again.exit_code == 2
    (line,) = again.stderr.splitlines()
    assert "balls 1 to 12 are in the belief already" in line
    more = tmp_path / "more.csv"
    more.write_text(
        "ball,winder,cone,counts,mass,length\n13,4,SL-207-04,785,103.9 g,207.1 m\n",
        encoding="utf-8",
    )
    later = clew_json("ball", "first-balls", more, *common, "--belief", belief)
    assert later["winders"][0]["setting"]["gap_sd"] <= four["gap_sd"]


def test_card_and_first_balls_never_disagree(
    clew_json: Json, clew: Run, mill_dir: Path, tmp_path: Path
) -> None:
    """Counts of every winder, after the first balls and again after later ones set as advised."""
    common = ("--dye-lot", "SL-207", "--mill", mill_dir)
    belief, out = tmp_path / "belief.json", tmp_path / "cards"
    more = tmp_path / "more.csv"
    more.write_text(
        "ball,winder,cone,counts,mass,length\n"
        + "".join(
            f"{12 + n},{n},SL-207-1{n},{counts},{mass} g,\n"
            for n, counts, mass in (
                (1, 780, 101.2),
                (2, 785, 100.4),
                (3, 786, 101.5),
                (4, 776, 101.0),
                (5, 80, 116.0),
                (6, 386, 99.9),
            )
        ),
        encoding="utf-8",
    )
    for balls, going_on, number in (
        (mill_dir / "first-balls.csv", (), 12),
        (more, ("--belief", belief), 18),
    ):
        advised = clew_json(
            "ball",
            "first-balls",
            balls,
            "--ball",
            "Querl 100",
            *common,
            *going_on,
            "--save",
            belief,
        )
        wanted = {
            row["winder"]: row["setting"][
                "counts" if row["setting"]["worth_it"] else "present_counts"
            ]
            for row in advised["winders"]
        }
        card = clew_json("ball", "card", "Querl 100", *common, "--belief", belief, "--out", out)
        assert {row["winder"]: row["counts"] for row in card["winders"]} == wanted
        assert card["first_balls"] == number
    shown = clew("ball", "card", "Querl 100", *common, "--belief", belief, "--out", out)
    assert "After 18 first balls" in shown.stdout
    (page,) = out.glob("*.html")
    assert "after 18 first balls" in page.read_text(encoding="utf-8")


def test_a_belief_about_another_ball_or_a_changed_mill_is_one_line(
    clew: Run, mill_dir: Path, tmp_path: Path
) -> None:
    belief = tmp_path / "belief.json"
    balls = mill_dir / "first-balls.csv"
    start = ("ball", "first-balls", balls, "--mill", mill_dir, "--dye-lot")
    assert clew(*start, "SL-207", "--ball", "Querl 100", "--save", belief).exit_code == 0
    other = clew(*start, "SA-340", "--ball", "Dunnow 50", "--belief", belief)
    carried = clew(*start, "BR-088", "--ball", "Querl 100", "--belief", belief)
    assert carried.exit_code == 0
    assert "winders are carried over from dye lot SL-207" in carried.stdout
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8").replace('"150 kg/m3" ', '"155 kg/m3" ')
    file.write_text(text, encoding="utf-8")
    changed = clew(*start, "SL-207", "--ball", "Querl 100", "--belief", belief)
    for result, words in (
        (other, "about ball Querl 100, not Dunnow 50"),
        (changed, "pack_density_kg_m3 was 150, is 155"),
    ):
        assert result.exit_code == 2
        (line,) = result.stderr.splitlines()
        assert words in line


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"form": ' + b"9" * 5000 + b"}",
        b'{"form": NaN}',
        b"[]",
        b"null",
        b'{"form": "first-ball belief 2", "winders": "123456"}',
    ],
)
def test_a_file_that_is_no_belief_names_itself(
    clew: Run, mill_dir: Path, tmp_path: Path, text: bytes
) -> None:
    belief = tmp_path / "belief.json"
    belief.write_bytes(text)
    for command in (
        ("first-balls", mill_dir / "first-balls.csv", "--ball", "Querl 100"),
        ("card", "Querl 100", "--out", tmp_path / "cards"),
    ):
        result = clew(
            "ball", *command, "--dye-lot", "SL-207", "--mill", mill_dir, "--belief", belief
        )
        assert result.exit_code == 2, result.output
        lines = result.stderr.splitlines()
        assert lines
        assert all("belief.json" in line for line in lines)


def test_faults_found_after_reading_carry_their_row(
    clew: Run, mill_dir: Path, tmp_path: Path
) -> None:
    file = tmp_path / "balls.csv"
    head = "ball,winder,cone,counts,mass,length\n"
    common = ("--ball", "Querl 100", "--dye-lot", "SL-207", "--mill", mill_dir)
    for rows, number, words in (
        ("1,1,A,785,101.2 g,\n2,9,A,785,101.2 g,\n", 3, "no such winder"),
        ("1,1,A,785,3.6 g,\n2,2,A,785,101.2 g,\n", 2, "wrong unit"),
        ("1,1,A,785,101.2 g,\n1,2,A,785,101.2 g,\n", 3, "named twice"),
    ):
        file.write_text(head + rows, encoding="utf-8")
        result = clew("ball", "first-balls", file, *common)
        assert result.exit_code == 2
        (line,) = result.stderr.splitlines()
        assert f"balls.csv:{number}:" in line
        assert words in line


def test_faults_in_first_balls_come_all_at_once(clew: Run, mill_dir: Path, tmp_path: Path) -> None:
    file = tmp_path / "balls.csv"
    file.write_text(
        "ball,winder,cone,counts,mass,length\n"
        "1,1,A,785,101.2,203 m\n"
        "2,x,A,785,101.2 g,203 m\n"
        "3,1,A,-5,101.2 g,\n"
        "4,1,A 60 % + B 60 %,785,101.2 g,\n",
        encoding="utf-8",
    )
    result = clew(
        "ball",
        "first-balls",
        file,
        "--ball",
        "Querl 100",
        "--dye-lot",
        "SL-207",
        "--mill",
        mill_dir,
    )
    assert result.exit_code == 2
    lines = result.stderr.strip().splitlines()
    assert [f"balls.csv:{line}:" in row for line, row in zip((2, 3, 4, 5), lines, strict=True)] == [
        True
    ] * 4


def test_a_ball_across_a_tie_names_both_cones(
    clew_json: Json, mill_dir: Path, tmp_path: Path
) -> None:
    file = tmp_path / "balls.csv"
    file.write_text(
        "ball,winder,cone,counts,mass,length\n1,1,A-01 60 % + A-02 40 %,785,101.2 g,203 m\n",
        encoding="utf-8",
    )
    found = clew_json(
        "ball",
        "first-balls",
        file,
        "--ball",
        "Querl 100",
        "--dye-lot",
        "SL-207",
        "--mill",
        mill_dir,
    )
    assert {"A-01", "A-02"} <= set(json.dumps(found["belief"]).replace('"', " ").split())


def test_card_is_written_whole(clew: Run, mill_dir: Path, tmp_path: Path) -> None:
    result = clew(
        "ball",
        "card",
        "Querl 100",
        "--dye-lot",
        "SL-207",
        "--mill",
        mill_dir,
        "--out",
        tmp_path / "cards",
    )
    assert result.exit_code == 0, result.output
    written = sorted(path.name for path in (tmp_path / "cards").iterdir())
    assert written == ["run-card-querl-100-sl-207.html", "run-card-querl-100-sl-207.pdf"]
    assert (tmp_path / "cards" / written[1]).read_bytes().startswith(b"%PDF")


def test_a_card_that_cannot_be_written_is_one_line(
    clew: Run, mill_dir: Path, tmp_path: Path
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    result = clew(
        "ball", "card", "Querl 100", "--dye-lot", "SL-207", "--mill", mill_dir, "--out", blocked
    )
    assert result.exit_code == 2
    assert len(result.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["ball", "turns", "Nothing"], "no such ball"),
        (["ball", "turns", "Querl 100", "--dye-lot", "SA-340"], "is of Dunnow"),
        (["ball", "turns", "Querl 100", "--confidence", "100 %"], "confidence"),
        (["ball", "card", "Querl 100", "--dye-lot", "none", "--out", "x"], "no such dye lot"),
        (
            ["ball", "card", "Querl 100", "--dye-lot", "SL-207", "--line", "Line 9", "--out", "x"],
            "no such line",
        ),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(
    clew: Run, mill_dir: Path, arguments: list[str], words: str
) -> None:
    result = clew(*arguments, "--mill", mill_dir)
    assert result.exit_code == 2
    assert words in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_a_name_of_two_words_needs_no_quotes(clew_json: Json, mill_dir: Path) -> None:
    assert clew_json("ball", "turns", "Querl", "100", "--mill", mill_dir)["turns"] > 1


def test_a_card_without_its_lot_names_the_lots(clew: Run, mill_dir: Path, tmp_path: Path) -> None:
    result = clew("ball", "card", "Dunnow 50", "--mill", mill_dir, "--out", tmp_path / "cards")
    assert result.exit_code == 2
    assert "BR-091, SA-340" in result.stderr


def test_a_card_that_was_there_is_said_to_be_replaced(
    clew: Run, mill_dir: Path, tmp_path: Path
) -> None:
    arguments = ("ball", "card", "Querl 100", "--dye-lot", "SL-207", "--mill", mill_dir)
    first, again = (clew(*arguments, "--out", tmp_path) for _ in range(2))
    assert first.stdout.startswith("wrote")
    assert again.stdout.startswith("replaced")
