"""Lots: the decision, what would release the lot, and what a person enters."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.checks.packages.plan import RULE_KEYS
from clew.checks.release.lot import LotQuestion, fault_plan, lot_answer
from clew.checks.weighings import drawn, of_lot
from clew.ledger.intake.shades import read_shades
from clew.ledger.intake.weighings import read_weighings
from clew.mill.model import Mill
from clew.mill.net_content import read_tables
from clew.web.app import create_app
from clew.web.drawn.chart_svg import DRAWS_HEADER
from clew.web.drawn.figures import Figures
from clew.web.lots.charts import chance_spec, strip_spec
from clew.web.lots.files import LotFiles
from clew.web.lots.page import open_lots
from clew.web.lots.view import sheets_shown

LOT = {"ball": "Querl 100", "lot": "SL-207", "size": "720"}
SEEN = {"knots_looked": "83", "knots_found": "1", "band_looked": "83", "band_found": "0"}
OFFICE = "For in-house control; your weights-and-measures office decides."
ROWS = "lot,winder,ball,mass_g"


def text_of(client: TestClient, **asked: str | list[str]) -> str:
    """The page's text, its spaces plain."""
    page = client.get("/lots", params=asked)
    assert page.status_code == 200, page.text
    return html.unescape(page.text).replace("\u00a0", " ")


def write(folder: Path, name: str, masses: list[float], lot: str = "SL-207") -> None:
    """Put a file of weighings into a mill, one ball a mass."""
    rows = [f"{lot},{k % 6 + 1},b{k},{mass:.2f}" for k, mass in enumerate(masses)]
    (folder / name).write_text("\n".join([ROWS, *rows]) + "\n", encoding="utf-8")


def test_the_page_says_what_the_room_says(
    client: TestClient, demo_mill: Mill, demo_folder: Path
) -> None:
    sample = of_lot(read_weighings(demo_folder / "shift-weighings.csv"), "SL-207")
    question = LotQuestion(
        "Querl 100", "SL-207", 720, drawn(sample, 1),
        shades=tuple(read_shades(demo_folder / "shade-readings.csv")),
    )  # fmt: skip
    answer = lot_answer(demo_mill, question, read_tables(demo_folder))
    text = text_of(client, **LOT)
    assert answer.decision.word == "hold"
    assert "<strong>HELD</strong>" in text
    assert answer.decision.sentence in text
    for finding in answer.decision.findings:
        assert finding.title in text
        for words in finding.words:
            assert words[1:] in text
    for mend in answer.decision.mends:
        assert mend.words[1:] in text
    assert OFFICE in text


def test_with_everything_looked_at_it_goes_and_has_its_certificate(client: TestClient) -> None:
    text = text_of(client, **LOT, **SEEN)
    assert "<strong>RELEASED</strong>" in text
    assert "Release certificate (PDF)" in text
    assert "Not looked for: out of shape." in text
    assert "What would release it" not in text
    assert OFFICE in text


def test_what_failed_is_to_be_reworked_with_balls_and_cost(client: TestClient) -> None:
    text = text_of(client, **LOT, **(SEEN | {"knots_found": "5"}))
    assert "<strong>REWORK</strong>" in text
    assert "Lot report (PDF)" in text
    assert "Release certificate" not in text
    ways = text[text.index("What would release it") :]
    assert re.search(r"<small>720 balls; about \d+ GBP; 5 of 83 balls of the sample", ways)


def test_the_seed_draws_another_sample(client: TestClient) -> None:
    mean = re.compile(r"The mean of 50 balls is ([\d.]+) g")
    one, other = (mean.search(text_of(client, **LOT, seed=seed)) for seed in ("1", "2"))
    again = mean.search(text_of(client, **LOT))
    assert one and other and again
    assert one[1] == again[1] != other[1]
    in_order = mean.search(text_of(client, **LOT, sample="file", seed="2"))
    assert in_order and in_order[1] not in (one[1], other[1])


def test_a_sample_as_large_as_asked_is_taken_in_its_order(demo_mill: Mill, mill_dir: Path) -> None:
    write(mill_dir, "few.csv", [101.0 + 0.1 * (k % 9) for k in range(60)])
    page = open_lots(demo_mill, {**LOT, "file": "few.csv"}, [], LotFiles(mill_dir), "metric")
    assert page.sampling is not None
    assert not page.sampling.at_random
    assert (page.sampling.balls, page.sampling.first, page.sampling.most) == (60, 80, 100)
    assert page.paper is not None
    assert not any("at random" in row.text for group in page.paper.about for row in group.rows)


def test_too_few_balls_are_told_how_many_more(mill_dir: Path) -> None:
    write(mill_dir, "few.csv", [101.0 + 0.1 * (k % 9) for k in range(30)])
    own = TestClient(create_app(mill_dir), base_url="http://127.0.0.1")
    text = text_of(own, **LOT, file="few.csv")
    assert "Weigh 50 more balls of this lot." in text
    assert "30 of 50 balls" in text
    assert "<strong>HELD</strong>" in text


def test_a_lot_smaller_than_its_sample_is_said_beside_its_size(client: TestClient) -> None:
    page = client.get("/lots", params=LOT | {"size": "100"})
    assert page.status_code == 422
    fault = "more balls measured (708) than the lot has (100)"
    assert f'id="size-fault" data-live>{fault}' in page.text
    assert f"<strong>Balls in the lot:</strong> {fault}" in page.text
    assert "HELD" not in page.text


def test_without_a_size_the_file_s_number_is_taken_and_no_paper_given(client: TestClient) -> None:
    text = text_of(client, ball="Querl 100", lot="SL-207", **SEEN)
    assert "For a lot of 708 balls." in text
    assert "/lots/certificate.pdf" not in text
    refused = client.get("/lots/certificate.pdf", params={"lot": "SL-207"})
    assert refused.status_code == 422
    assert "no size of the lot" in refused.text


def test_a_mill_without_weighings_says_what_to_put_there(mill_dir: Path) -> None:
    for file in mill_dir.glob("*.csv"):
        file.unlink()
    own = TestClient(create_app(mill_dir), base_url="http://127.0.0.1")
    text = text_of(own)
    assert "No file of weighings lies in the mill's folder." in text
    assert "mass_g" in text
    sized = text_of(own, size="720")
    assert "Look at 83 of the 720 balls" in sized
    assert own.get("/lots/certificate.pdf", params={"size": "720"}).status_code == 422


def test_a_lot_that_is_not_in_the_file_is_said_with_those_that_are(client: TestClient) -> None:
    text = text_of(client, ball="Dunnow 50", lot="BR-091")
    assert "shift-weighings.csv holds no ball of BR-091. It holds SL-207, SL-211." in text
    assert "Until balls were weighed the lot is held." in text


def test_a_file_without_masses_and_a_broken_one_are_said(mill_dir: Path) -> None:
    (mill_dir / "reeled.csv").write_text("lot,length_m\nSL-207,201\n", encoding="utf-8")
    (mill_dir / "broken.csv").write_text("lot,mass_g\nSL-207,heavy\n", encoding="utf-8")
    own = TestClient(create_app(mill_dir), base_url="http://127.0.0.1")
    assert "reeled.csv holds no masses" in text_of(own, **LOT, file="reeled.csv")
    broken = own.get("/lots", params=LOT | {"file": "broken.csv"})
    assert broken.status_code == 422
    assert "broken.csv:2" in broken.text
    assert str(mill_dir) not in broken.text


@pytest.mark.parametrize("name", ["../mill.toml", "/etc/passwd", "mill.toml", "..", "x\0.csv"])
@pytest.mark.parametrize("key", ["file", "shade"])
def test_a_file_is_only_ever_one_of_the_list(client: TestClient, key: str, name: str) -> None:
    page = client.get("/lots", params=LOT | {key: name})
    assert page.status_code == 422
    assert "no such file" in page.text


@pytest.mark.parametrize(
    ("asked", "key", "words"),
    [
        ({"size": "none"}, "size", "not a whole number"),
        ({"size": "0"}, "size", "from 1 to"),
        ({"seed": "-1"}, "seed", "not a whole number"),
        ({"knots_looked": "83"}, "knots_found", "not said how many were at fault"),
        ({"knots_found": "1"}, "knots_looked", "not said how many were looked at"),
        ({"band_looked": "5", "band_found": "6"}, "band_found", "at most 5"),
        ({"shape_looked": "90", "shape_found": "0"}, "shape_looked", "the first 83"),
        ({"drawn_by": "x" * 81}, "drawn_by", "at most 80 letters"),
        ({"regain": "wet"}, "regain", ""),
    ],
)
def test_a_fault_stands_beside_its_input(
    client: TestClient, asked: dict[str, str], key: str, words: str
) -> None:
    page = client.get("/lots", params=LOT | asked)
    assert page.status_code == 422
    beside = re.search(rf'id="{key}-fault" data-live>([^<]+)<', page.text)
    assert beside
    assert words in html.unescape(beside[1])
    assert re.search(rf'name="{key}"[^>]*aria-invalid="true"', page.text)


@pytest.mark.parametrize(
    "asked",
    [{"rule": "none"}, {"order": "1"}, {"order": "1045"}, {"sample": "best"}, {"lot": "BR-091"},
     {"colour": "red"}, {"ball": "No such"}, {"line": "9"}],
)  # fmt: skip
def test_what_is_not_there_to_choose_is_refused(client: TestClient, asked: dict[str, str]) -> None:
    page = client.get("/lots", params=LOT | asked)
    assert page.status_code == 422
    assert "HELD" not in page.text


def test_an_unchecked_table_is_never_a_bare_pass(client: TestClient) -> None:
    rules = ["us-thread-states", "oiml-r87"]
    text = text_of(client, **LOT, **SEEN, rule=rules, sample="file")
    assert "table not checked against its source" in text
    assert "<strong>RELEASED</strong>" not in text
    held = text_of(client, **LOT, **SEEN, rule=["us-category-a"])
    assert "Table not checked against its source." in held
    assert "or takes it on them by name" in held
    taken = text_of(client, **LOT, **SEEN, rule=["us-category-a"], accepted="Ada")
    assert "Ada takes it on them." in taken


def test_every_rule_set_can_be_chosen_and_is_judged_by(client: TestClient) -> None:
    keys = list(RULE_KEYS)
    text = text_of(client, **LOT, rule=keys)
    for key in keys:
        assert re.search(rf'value="{key}" checked', text)
        assert f'id="sheet-{key}-mass"' in text
        assert f'id="strip-{key}-mass-title"' in text
    assert len(re.findall(r'<details id="sheet-[^"]*" open>', text)) == 1
    alone = text_of(client, **LOT, rule=["oiml-r87"])
    assert 'id="sheet-eu-average-mass"' not in alone


def test_the_worksheet_has_every_figure_and_every_ball(
    client: TestClient, demo_mill: Mill, demo_folder: Path
) -> None:
    page = open_lots(demo_mill, LOT, [], LotFiles(demo_folder), "metric")
    assert page.answer is not None and page.paper is not None
    text = text_of(client, **LOT)
    for sheet in page.paper.sheets:
        for row in sheet.rows:
            assert row.text in text, row
        for note in sheet.notes:
            assert note in text, note
    (first, *_) = page.answer.verdicts[0].sheets
    table = text[text.index('id="balls-eu-average-mass"') :].partition("</details>")[0]
    assert re.findall(r'<th scope="row">([^<]+)</th>', table) == [b.name for b in first.balls]


def test_each_chart_has_its_title_and_its_table(client: TestClient) -> None:
    text = text_of(client, **LOT)
    for key in ("strip-eu-average-mass", "chance-eu-average-mass", "strip-uk-2006-mass",
                "chance-uk-2006-mass", "fault-plan"):  # fmt: skip
        assert f'<title id="{key}-title">' in text
        assert f'<details id="{key}-table">' in text


def test_the_plan_for_faults_is_said_before_anything_was_entered(
    client: TestClient, demo_mill: Mill
) -> None:
    stage = fault_plan(demo_mill, 720).stages[0]
    text = text_of(client, **LOT)
    words = f"Look at {stage.drawn} of the 720 balls, drawn at random; at most {stage.accept}"
    assert words in text[text.index("What would release it") :].partition("<form")[0]
    assert words in text[text.index('id="plan-note"') :].partition("</p>")[0]
    small = text_of(client, **(LOT | {"file": "shift-weighings.csv", "size": "709"}))
    assert "of the 709 balls" in small


def test_ounces_and_yards_are_for_who_reads_them(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    text = text_of(client, **LOT)
    client.cookies.clear()
    assert "No ball lies below 3.3687 oz" in text
    assert re.search(r"The mean of 50 balls is 3\.5\d+ oz", text)
    assert "100 g = 0.220462 lb" in text  # the declaration as the band has it
    assert "100 g e, about 200 m" in text
    assert not re.search(r"passes, [\d.]+ g", text)


def test_what_was_typed_stays_in_its_field_and_in_the_link(client: TestClient) -> None:
    asked = LOT | SEEN | {"drawn_by": "A. Hand & Co", "seed": "7", "order": "1041"}
    text = client.get("/lots", params=asked).text
    assert 'name="drawn_by" value="A. Hand &amp; Co"' in text
    link = html.unescape(re.search(r'href="(/lots/certificate\.pdf[^"]+)"', text)[1])  # type: ignore[index]
    for part in ("size=720", "seed=7", "order=1041", "knots_looked=83", "file=shift-weighings.csv",
                 "rule=eu-average", "rule=uk-2006", "drawn_by=A.+Hand+%26+Co"):  # fmt: skip
        assert part in link
    assert client.get(link).status_code == 200


def test_choosing_another_lot_carries_nothing_entered_over(client: TestClient) -> None:
    text = client.get("/lots", params=LOT | SEEN).text
    choose = text[text.index("data-choose") :].partition("</form>")[0]
    assert re.findall(r'name="(\w+)"', choose) == ["ball", "lot"]


def test_the_part_that_a_script_asks_for_has_what_changes(client: TestClient) -> None:
    whole = client.get("/lots", params=LOT | SEEN).text
    part = client.get("/lots", params=LOT | SEEN | {"part": "answer"}).text
    assert "<html" not in part
    live = re.findall(r'id="([^"]+)"[^>]*data-live', whole)
    assert sorted(live) == sorted(set(re.findall(r'id="([^"]+)"[^>]*data-live', part)) & set(live))
    assert {"words", "answer", "more", "mini", "size-fault", "plan-note"} <= set(live)


def test_where_the_browser_draws_the_same_charts_come_as_definitions(client: TestClient) -> None:
    asked = LOT | {"size": "720"}
    drawn_here = client.get("/lots", params=asked | {"part": "answer"})
    there = client.get("/lots", params=asked | {"part": "answer"}, headers={DRAWS_HEADER: "charts"})
    definitions = re.compile(r"data-definition='([^']*)'")
    assert definitions.findall(there.text) == definitions.findall(drawn_here.text) != []
    assert there.text.count("<svg hidden>") == there.text.count("data-chart=")


def test_a_chart_of_other_numbers_differs_in_them_alone() -> None:
    one, other = strip_spec("mass, g", 90.5, 110.5, 200), strip_spec("mass, g", 80.5, 120.5, 300)
    said = json.dumps(one)
    assert '"@' not in said
    said = said.replace("[90.5, 110.5]", "[80.5, 120.5]").replace("[0, 200]", "[0, 300]")
    assert json.loads(said) | {"height": 300} == other
    chance = json.dumps(chance_spec("mean", "lots", 97.5, 103.5))
    assert '"@' not in chance
    assert json.loads(chance.replace("[97.5, 103.5]", "[1.5, 2.5]")) == chance_spec(
        "mean", "lots", 1.5, 2.5
    )


def test_a_ball_at_the_agreed_regain_asks_for_the_regain(mill_dir: Path) -> None:
    write(mill_dir, "dunnow.csv", [51.0 + 0.1 * (k % 7) for k in range(60)], "BR-091")
    own = TestClient(create_app(mill_dir), base_url="http://127.0.0.1")
    asked = {"ball": "Dunnow 50", "lot": "BR-091", "size": "500"}
    refused = own.get("/lots", params=asked)
    assert refused.status_code == 422
    assert 'name="regain"' in refused.text
    assert re.search(r'id="regain-fault" data-live>[^<]+<', refused.text)
    text = text_of(own, **asked, regain="16 %")
    assert "agreed regain" in text


def test_a_file_may_be_judged_whole(client: TestClient) -> None:
    text = text_of(client, lot="none", size="1200")
    assert "The file holds 1200 balls;" in text
    assert "the file holds 2 lots, judged as one" in text
    assert "Shade: not looked at" in text


def test_of_very_many_balls_a_dot_is_several(demo_mill: Mill, mill_dir: Path) -> None:
    write(mill_dir, "many.csv", [101.0 + 0.02 * (k % 97) for k in range(4000)] + [60.0])
    asked = {**LOT, "file": "many.csv", "size": "4001"}
    page = open_lots(demo_mill, asked, ["us-thread-states"], LotFiles(mill_dir), "metric")
    assert page.answer is not None and page.paper is not None
    sheet = sheets_shown(page.answer.verdicts, page.paper.sheets, Figures("metric"))[0]
    assert sheet.dots == "Each dot up to 11 balls."
    assert sheet.strip is not None
    assert 360 < sheet.strip.svg.count("<path") < 440
    assert len(sheet.balls.rows) == 1000
    assert sheet.balls_words.endswith("3001 more are on the paper")
