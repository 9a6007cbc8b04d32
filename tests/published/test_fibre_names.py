"""Fibre names of the law against the texts that were read."""

from __future__ import annotations

import pytest

from clew.checks.band.fibre_names import content_of, names_of


@pytest.mark.outside(
    document="Directive 2008/121/EC",
    edition="legislation.gov.uk, 2009",
    section="Annex I, rows 1 and 4 to 19",
    mark="READ",
)
@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("wool_combed", "wool"), ("wool_carded", "wool"), ("silk", "silk"), ("cotton", "cotton"),
        ("kapok", "kapok"), ("flax", "flax"), ("hemp", "true hemp"), ("jute", "jute"),
        ("abaca", "abaca"), ("alfa", "alfa"), ("coir", "coir"), ("broom", "broom"),
        ("ramie", "ramie"), ("sisal", "sisal"), ("henequen", "henequen"), ("maguey", "maguey"),
        ("acetate", "acetate"),
    ],
)  # fmt: skip
def test_names_of_the_eu(key: str, name: str) -> None:
    assert names_of(key, "eu")[0] == names_of(key, "uk")[0] == name


@pytest.mark.outside(
    document="Regulation (EU) 2018/122",
    edition="legislation.gov.uk",
    section="Annex I, row 50",
    mark="READ",
)
def test_the_fiftieth_name() -> None:
    assert names_of("polyacrylate", "eu") == ("polyacrylate",)


@pytest.mark.outside(
    document="16 CFR 303.6; 67 FR 4901, 67 FR 70835, 68 FR 3813, 61 FR 16385",
    edition="2019; 2002, 2002, 2003, 1996",
    section="examples of generic names; PLA, elasterell-p, lastol, lyocell",
    mark="READ",
)
@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("cotton", "cotton"), ("viscose", "rayon"), ("silk", "silk"), ("flax", "linen"),
        ("polyamide_staple", "nylon"), ("wool_carded", "wool"), ("polylactide", "PLA"),
        ("elastomultiester", "elasterell-p"), ("elastolefin", "lastol"),
        ("lyocell", "lyocell"),
    ],
)  # fmt: skip
def test_names_of_the_us(key: str, name: str) -> None:
    assert names_of(key, "us")[0] == name


@pytest.mark.outside(
    document="68 FR 3813, on 15 USC 70b(b)(1), and the FTC's page on cotton labels",
    edition="2003; as on the web in 2026",
    section="order of predominance by weight; fibres of five percent and more by name",
    mark="READ",
)
def test_predominance_and_five_percent() -> None:
    blend = [("polyester", 0.2), ("cotton", 0.76), ("silk", 0.04)]
    words = content_of(blend, "eu-1007-2011", "us").words
    assert [part.split(" % ")[1] for part in words.split(", ")] == [
        "cotton", "polyester", "other fiber",
    ]  # fmt: skip
    several = [("cotton", 0.92), ("silk", 0.04), ("polyester", 0.04)]
    assert content_of(several, "eu-1007-2011", "us").words == "92 % cotton, 8 % other fibers"
    stretch = [("cotton", 0.96), ("elastane", 0.04)]
    assert content_of(stretch, "eu-1007-2011", "us").words == "96 % cotton, 4 % spandex"
    above = [("polyester", 0.2), ("cotton", 0.73), ("silk", 0.07)]
    assert "silk" in content_of(above, "eu-1007-2011", "us").words


@pytest.mark.outside(
    document="Regulation (EU) No 1007/2011",
    edition="Annex VIII example; dry shares and results recalled",
    section="wool 10.30, polyamide 50.00, cotton 39.70 of the dry mass",
    mark="MEMORY",
)
def test_conditioned_shares_in_whole_percents() -> None:
    """Without the 4 % loss of the example: 12.051, 53.125, 43.0745 of 108.2505."""
    blend = [("wool_carded", 0.103), ("polyamide_staple", 0.5), ("cotton", 0.397)]
    assert content_of(blend, "eu-1007-2011", "eu").words == "49 % polyamide, 40 % cotton, 11 % wool"
