"""Commercial regains of ASTM D1909: as another work cites them, and as recalled."""

import pytest

from clew.strand.allowances import allowance_table


@pytest.mark.outside(
    document="ASTM D1909 as cited in Bioresources and Bioprocessing 7 (2020), article 339",
    edition="D1909-13",
    section="table 10 of the article",
    mark="READ",
)
@pytest.mark.parametrize(
    ("key", "percent"),
    [
        ("cotton", 8.5),
        ("wool_combed", 13.6),
        ("wool_carded", 13.6),
        ("silk", 11.0),
        ("flax", 12.0),
        ("jute", 13.75),
        ("hemp", 12.0),
    ],
)
def test_regain_as_cited(key: str, percent: float) -> None:
    entry = allowance_table("astm-d1909")[key]
    assert 100 * entry.frac == pytest.approx(percent, abs=1e-9)
    assert entry.mark == "READ-via"


@pytest.mark.outside(
    document="ASTM D1909",
    edition="not seen",
    section="entries recalled",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("key", "percent"),
    [
        ("acrylic", 1.5),
        ("polyester", 0.4),
        ("polyamide_staple", 4.5),
        ("viscose", 11.0),
        ("acetate", 6.5),
        ("triacetate", 3.5),
        ("cotton_mercerised", 8.5),
    ],
)
def test_regain_as_recalled(key: str, percent: float) -> None:
    entry = allowance_table("astm-d1909")[key]
    assert 100 * entry.frac == pytest.approx(percent, abs=1e-9)
    assert entry.mark == "MEMORY"
