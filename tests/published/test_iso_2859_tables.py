"""Single sampling plans of MIL-STD-105E, cell by cell, and the letters of table I."""

from __future__ import annotations

import pytest

from clew.checks.attributes.curves import chance_accepted
from clew.checks.attributes.iso2859 import (
    AQLS,
    LETTERS,
    LEVELS,
    Level,
    Severity,
    code_letter,
    standard_plan,
    table_cell,
)
from clew.checks.attributes.plans import double_plan

# Arrows followed, AQL 0.10 to 10: balls drawn, accept, and of reduced inspection reject.
NORMAL = """
A 125:0 80:0 50:0 32:0 20:0 13:0 8:0 5:0 3:0 2:0 5:1
B 125:0 80:0 50:0 32:0 20:0 13:0 8:0 5:0 3:0 2:0 5:1
C 125:0 80:0 50:0 32:0 20:0 13:0 8:0 5:0 3:0 8:1 5:1
D 125:0 80:0 50:0 32:0 20:0 13:0 8:0 5:0 13:1 8:1 8:2
E 125:0 80:0 50:0 32:0 20:0 13:0 8:0 20:1 13:1 13:2 13:3
F 125:0 80:0 50:0 32:0 20:0 13:0 32:1 20:1 20:2 20:3 20:5
G 125:0 80:0 50:0 32:0 20:0 50:1 32:1 32:2 32:3 32:5 32:7
H 125:0 80:0 50:0 32:0 80:1 50:1 50:2 50:3 50:5 50:7 50:10
J 125:0 80:0 50:0 125:1 80:1 80:2 80:3 80:5 80:7 80:10 80:14
K 125:0 80:0 200:1 125:1 125:2 125:3 125:5 125:7 125:10 125:14 125:21
L 125:0 315:1 200:1 200:2 200:3 200:5 200:7 200:10 200:14 200:21 125:21
M 500:1 315:1 315:2 315:3 315:5 315:7 315:10 315:14 315:21 200:21 125:21
N 500:1 500:2 500:3 500:5 500:7 500:10 500:14 500:21 315:21 200:21 125:21
P 800:2 800:3 800:5 800:7 800:10 800:14 800:21 500:21 315:21 200:21 125:21
Q 1250:3 1250:5 1250:7 1250:10 1250:14 1250:21 800:21 500:21 315:21 200:21 125:21
R 2000:5 2000:7 2000:10 2000:14 2000:21 1250:21 800:21 500:21 315:21 200:21 125:21
"""
TIGHTENED = """
A 200:0 125:0 80:0 50:0 32:0 20:0 13:0 8:0 5:0 3:0 8:1
B 200:0 125:0 80:0 50:0 32:0 20:0 13:0 8:0 5:0 3:0 8:1
C 200:0 125:0 80:0 50:0 32:0 20:0 13:0 8:0 5:0 13:1 8:1
D 200:0 125:0 80:0 50:0 32:0 20:0 13:0 8:0 20:1 13:1 8:1
E 200:0 125:0 80:0 50:0 32:0 20:0 13:0 32:1 20:1 13:1 13:2
F 200:0 125:0 80:0 50:0 32:0 20:0 50:1 32:1 20:1 20:2 20:3
G 200:0 125:0 80:0 50:0 32:0 80:1 50:1 32:1 32:2 32:3 32:5
H 200:0 125:0 80:0 50:0 125:1 80:1 50:1 50:2 50:3 50:5 50:8
J 200:0 125:0 80:0 200:1 125:1 80:1 80:2 80:3 80:5 80:8 80:12
K 200:0 125:0 315:1 200:1 125:1 125:2 125:3 125:5 125:8 125:12 125:18
L 200:0 500:1 315:1 200:1 200:2 200:3 200:5 200:8 200:12 200:18 125:18
M 800:1 500:1 315:1 315:2 315:3 315:5 315:8 315:12 315:18 200:18 125:18
N 800:1 500:1 500:2 500:3 500:5 500:8 500:12 500:18 315:18 200:18 125:18
P 800:1 800:2 800:3 800:5 800:8 800:12 800:18 500:18 315:18 200:18 125:18
Q 1250:2 1250:3 1250:5 1250:8 1250:12 1250:18 800:18 500:18 315:18 200:18 125:18
R 2000:3 2000:5 2000:8 2000:12 2000:18 1250:18 800:18 500:18 315:18 200:18 125:18
"""
REDUCED = """
A 50:0/1 32:0/1 20:0/1 13:0/1 8:0/1 5:0/1 3:0/1 2:0/1 2:0/1 2:0/1 2:0/2
B 50:0/1 32:0/1 20:0/1 13:0/1 8:0/1 5:0/1 3:0/1 2:0/1 2:0/1 2:0/1 2:0/2
C 50:0/1 32:0/1 20:0/1 13:0/1 8:0/1 5:0/1 3:0/1 2:0/1 2:0/1 3:0/2 2:0/2
D 50:0/1 32:0/1 20:0/1 13:0/1 8:0/1 5:0/1 3:0/1 2:0/1 5:0/2 3:0/2 3:1/3
E 50:0/1 32:0/1 20:0/1 13:0/1 8:0/1 5:0/1 3:0/1 8:0/2 5:0/2 5:1/3 5:1/4
F 50:0/1 32:0/1 20:0/1 13:0/1 8:0/1 5:0/1 13:0/2 8:0/2 8:1/3 8:1/4 8:2/5
G 50:0/1 32:0/1 20:0/1 13:0/1 8:0/1 20:0/2 13:0/2 13:1/3 13:1/4 13:2/5 13:3/6
H 50:0/1 32:0/1 20:0/1 13:0/1 32:0/2 20:0/2 20:1/3 20:1/4 20:2/5 20:3/6 20:5/8
J 50:0/1 32:0/1 20:0/1 50:0/2 32:0/2 32:1/3 32:1/4 32:2/5 32:3/6 32:5/8 32:7/10
K 50:0/1 32:0/1 80:0/2 50:0/2 50:1/3 50:1/4 50:2/5 50:3/6 50:5/8 50:7/10 50:10/13
L 50:0/1 125:0/2 80:0/2 80:1/3 80:1/4 80:2/5 80:3/6 80:5/8 80:7/10 80:10/13 50:10/13
M 200:0/2 125:0/2 125:1/3 125:1/4 125:2/5 125:3/6 125:5/8 125:7/10 125:10/13 80:10/13 50:10/13
N 200:0/2 200:1/3 200:1/4 200:2/5 200:3/6 200:5/8 200:7/10 200:10/13 125:10/13 80:10/13 50:10/13
P 315:1/3 315:1/4 315:2/5 315:3/6 315:5/8 315:7/10 315:10/13 200:10/13 125:10/13 80:10/13 50:10/13
Q 500:1/4 500:2/5 500:3/6 500:5/8 500:7/10 500:10/13 315:10/13 200:10/13 125:10/13 80:10/13 50:10/13
R 800:2/5 800:3/6 800:5/8 800:7/10 800:10/13 500:10/13 315:10/13 200:10/13 125:10/13 80:10/13 50:10/13
"""  # noqa: E501 - one row of the table, one line

TABLES: dict[Severity, str] = {"normal": NORMAL, "tightened": TIGHTENED, "reduced": REDUCED}

LOTS = """
2-8 A A A A A A B
9-15 A A A A A B C
16-25 A A B B B C D
26-50 A B B C C D E
51-90 B B C C C E F
91-150 B B C D D F G
151-280 B C D E E G H
281-500 B C D E F H J
501-1200 C C E F G J K
1201-3200 C D E G H K L
3201-10000 C D F G J L M
10001-35000 C D F H K M N
35001-150000 D E G J L N P
150001-500000 D E G J M P Q
500001-9000000 D E H K N Q R
"""

ARROWS = """
A v v v v v v v v v 0 v
B v v v v v v v v 0 ^ v
C v v v v v v v 0 ^ v 1
D v v v v v v 0 ^ v 1 2
E v v v v v 0 ^ v 1 2 3
F v v v v 0 ^ v 1 2 3 5
G v v v 0 ^ v 1 2 3 5 7
H v v 0 ^ v 1 2 3 5 7 10
J v 0 ^ v 1 2 3 5 7 10 14
K 0 ^ v 1 2 3 5 7 10 14 21
L ^ v 1 2 3 5 7 10 14 21 ^
M v 1 2 3 5 7 10 14 21 ^ ^
N 1 2 3 5 7 10 14 21 ^ ^ ^
P 2 3 5 7 10 14 21 ^ ^ ^ ^
Q 3 5 7 10 14 21 ^ ^ ^ ^ ^
R 5 7 10 14 21 ^ ^ ^ ^ ^ ^
"""


def rows(text: str) -> list[list[str]]:
    return [line.split() for line in text.strip().splitlines()]


@pytest.mark.outside(
    document="MIL-STD-105E / ANSI-ASQ Z1.4, in the tables of the AQLSchemes package",
    edition="1989; package 1.7-2, read in its public fork AQLSchemesCust",
    section="tables II-A, II-B, II-C, AQL 0.10 to 10: 3 x 176 cells",
    mark="READ",
)
@pytest.mark.parametrize("severity", TABLES)
def test_every_cell_of_the_single_plans(severity: Severity) -> None:
    table = rows(TABLES[severity])
    assert "".join(row[0] for row in table) == LETTERS
    for letter, *cells in table:
        for aql, cell in zip(AQLS, cells, strict=True):
            drawn, accept, reject = table_cell(letter, aql, severity)[1:]
            shown = f"{drawn}:{accept}" + (f"/{reject}" if severity == "reduced" else "")
            assert shown == cell, (severity, letter, aql)
            assert severity == "reduced" or reject == accept + 1


@pytest.mark.outside(
    document="MIL-STD-105E, in the tables of the AQLSchemes package",
    edition="1989; package 1.7-2",
    section="table II-A with its arrows",
    mark="READ",
)
def test_arrows_point_to_the_first_plan_in_their_direction() -> None:
    """Walking the printed arrows by hand ends at the plan that the rule finds."""
    table = {row[0]: row[1:] for row in rows(ARROWS)}
    for place, letter in enumerate(LETTERS):
        for column, aql in enumerate(AQLS):
            at = place
            while table[LETTERS[at]][column] in "v^":
                at += 1 if table[LETTERS[at]][column] == "v" else -1
            found = table_cell(letter, aql)
            assert found[0] == LETTERS[at]
            assert found[2] == int(table[LETTERS[at]][column])


@pytest.mark.outside(
    document="MIL-STD-105E, in the tables of the AQLSchemes package",
    edition="1989; package 1.7-2",
    section="table I, code letters",
    mark="READ",
)
def test_code_letters_at_both_ends_of_every_lot() -> None:
    for sizes, *letters in rows(LOTS):
        for size in sizes.split("-"):
            found = [code_letter(int(size), level) for level in LEVELS]
            assert found == letters, size


@pytest.mark.outside(
    document="AQLSchemes package, vignette",
    edition="1.7-2",
    section="lot 3201 to 10 000, level II, AQL 1.5: 200, 7, 8",
    mark="READ",
)
@pytest.mark.parametrize("lot", [3201, 5000, 10_000])
def test_the_worked_look_up(lot: int) -> None:
    found = standard_plan(lot, "1.5", "II")
    assert (found.letter, found.n, found.accept, found.reject) == ("L", 200, 7, 8)


@pytest.mark.outside(
    document="AQLSchemes package, vignette",
    edition="1.7-2",
    section="the double plan 125, 3, 7 and 125, 8, 9 matched to the single plan 200, 7",
    mark="READ",
)
def test_the_matched_double_plan_judges_nearly_alike() -> None:
    """Matched by the standard's makers, not equal: within 5 points of chance everywhere."""
    double = double_plan(125, 3, 7, 125, 8)
    single = standard_plan(5000, "1.5").plan
    assert single is not None
    for percent in (1, 2, 3, 4, 5, 6):
        both = [float(chance_accepted(plan, percent / 100)) for plan in (double, single)]
        assert both[0] == pytest.approx(both[1], abs=0.05)


@pytest.mark.outside(
    document="UK SI 2006/659 Schedule 2 para 3.5",
    edition="2006",
    section="50, 3; 80, 5; 125, 7 are letters H, J, K at AQL 2.5 (the facts' own remark)",
    mark="READ",
)
@pytest.mark.parametrize(("lot", "n", "accept"), [(500, 50, 3), (1200, 80, 5), (3200, 125, 7)])
def test_the_net_content_plans_are_among_them(lot: int, n: int, accept: int) -> None:
    found = standard_plan(lot, "2.5")
    assert (found.n, found.accept) == (n, accept)


def test_a_wrong_level_gives_other_letters() -> None:
    levels: tuple[Level, ...] = ("I", "II", "III")
    assert [code_letter(3000, level) for level in levels] == ["H", "K", "L"]
