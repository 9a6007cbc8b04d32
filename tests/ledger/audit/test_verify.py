"""Whatever is done to the ledger behind its back is found and named; what cannot be is said."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import text
from tests.ledger.audit.tampering import (
    LINE,
    ROWS,
    fill,
    make_hashes_anew,
    message,
    renumber,
    tamper,
)

from clew.faults import BadInput
from clew.ledger.audit.anchors import Anchor
from clew.ledger.audit.findings import UNSEEN, UNSEEN_AFTER, Audit
from clew.ledger.audit.verify import anchor_of, verify
from clew.ledger.audit.walk import Bounds, walk_chain
from clew.ledger.store.chain import FIRST_HASH, row_hash
from clew.ledger.store.ledger import Ledger


def found(audit: Audit) -> list[tuple[str, int, int]]:
    return [(one.what, one.first, one.last) for line in audit.lines for one in line.findings]


def test_an_untouched_ledger_is_sound_and_says_what_it_cannot_see(ledger: Ledger) -> None:
    fill(ledger)
    fill(ledger, 3, "")
    audit = verify(ledger)
    assert audit.sound
    assert audit.rows == ROWS + 3
    assert audit.words() == (
        "The mill's own chain: rows 1 to 3 untouched.",
        "Line 1: rows 1 to 40 untouched.",
    )
    assert audit.unseen() == UNSEEN


def test_an_empty_ledger_is_sound(ledger: Ledger) -> None:
    audit = verify(ledger)
    assert audit.sound
    assert audit.lines == ()


def test_one_changed_row_is_named_and_the_rest_vouched_for(ledger: Ledger) -> None:
    fill(ledger)
    tamper(ledger, "UPDATE event SET lot = 'SL-999' WHERE seq = 12")
    audit = verify(ledger)
    assert found(audit) == [("changed", 12, 12)]
    assert audit.lines[0].words() == (
        "Row 12 of Line 1 was changed after it was kept.",
        "Line 1: rows 1 to 11, rows 13 to 40 were not touched.",
    )
    assert not audit.sound


def test_two_changed_rows_are_told_apart(ledger: Ledger) -> None:
    fill(ledger)
    tamper(ledger, "UPDATE event SET lane = 9 WHERE seq IN (12, 30)")
    assert found(verify(ledger)) == [("changed", 12, 12), ("changed", 30, 30)]


@pytest.mark.parametrize("seq", [1, 12, ROWS])
def test_a_hash_alone_that_was_changed_is_named_so(ledger: Ledger, seq: int) -> None:
    fill(ledger)
    tamper(ledger, f"UPDATE event SET hash = :hash WHERE seq = {seq}", hash=b"\x07" * 32)
    assert found(verify(ledger)) == [("hash", seq, seq)]


def test_a_removed_row_is_a_gap_and_the_next_one_cannot_be_checked(ledger: Ledger) -> None:
    fill(ledger)
    tamper(
        ledger, "DELETE FROM event WHERE seq IN (12, 13)",
        "UPDATE event SET lane = 9 WHERE seq = 30",
    )  # fmt: skip
    audit = verify(ledger)
    assert found(audit) == [("missing", 12, 13), ("changed", 30, 30)]
    assert audit.lines[0].unchecked == (14,)
    assert audit.lines[0].untouched() == ((1, 11), (15, 29), (31, 40))


def test_a_removed_row_behind_which_all_are_renumbered(ledger: Ledger) -> None:
    fill(ledger)
    tamper(ledger, "DELETE FROM event WHERE seq = 12")
    renumber(ledger, 12, -1)
    audit = verify(ledger)
    assert found(audit) == [("renumbered", 12, 39), ("missing", 40, 40)]
    assert "1 higher, so as many were taken out before them" in audit.lines[0].findings[0].words


def test_an_inserted_row_behind_which_all_are_renumbered(ledger: Ledger) -> None:
    fill(ledger)
    renumber(ledger, 11, 1)
    with ledger.reading() as connection:
        row = dict(connection.execute(text("SELECT * FROM event WHERE seq = 5")).mappings().one())
    row |= {"seq": 12, "key": "slipped in"}
    columns = ", ".join(row)
    tamper(
        ledger,
        f"INSERT INTO event ({columns}) VALUES ({', '.join(':' + name for name in row)})",
        **row,
    )
    assert found(verify(ledger)) == [
        ("inserted", 12, 12), ("renumbered", 13, 41), ("after the head", 41, 41),
    ]  # fmt: skip


@pytest.mark.parametrize("other", [13, 27])
def test_rows_that_changed_places_are_named_with_where_they_stood(
    ledger: Ledger, other: int
) -> None:
    fill(ledger)
    tamper(
        ledger,
        "UPDATE event SET seq = -1 WHERE seq = 12",
        f"UPDATE event SET seq = 12 WHERE seq = {other}",
        f"UPDATE event SET seq = {other} WHERE seq = -1",
    )
    audit = verify(ledger)
    assert found(audit) == [("moved", 12, 12), ("moved", other, other)]
    assert f"row 12 of Line 1 was kept as row {other}" in audit.lines[0].findings[0].words


def test_what_two_rows_say_changed_places_while_their_hashes_stayed(ledger: Ledger) -> None:
    fill(ledger)
    swapped = "body = (SELECT other.body FROM event AS other WHERE other.seq = "
    tamper(
        ledger,
        "CREATE TABLE aside AS SELECT seq, body FROM event",
        f"UPDATE event SET {swapped.replace('event AS', 'aside AS')}20) WHERE seq = 12",
        f"UPDATE event SET {swapped.replace('event AS', 'aside AS')}12) WHERE seq = 20",
    )
    assert found(verify(ledger)) == [("changed", 12, 12), ("changed", 20, 20)]


def test_newest_rows_that_were_taken_away_show_against_the_head(ledger: Ledger) -> None:
    fill(ledger)
    tamper(ledger, "DELETE FROM event WHERE seq > 35")
    assert found(verify(ledger)) == [("missing", 36, 40)]


def test_a_cut_end_with_the_head_set_back_shows_only_against_an_anchor(ledger: Ledger) -> None:
    fill(ledger)
    anchor = anchor_of(ledger, LINE)
    tamper(ledger, "DELETE FROM event WHERE seq > 35")
    make_hashes_anew(ledger)
    blind = verify(ledger)
    assert blind.sound
    assert "take the newest rows away" in blind.unseen()
    seeing = verify(ledger, [anchor])
    assert [one.seen for one in seeing.anchors] == ["beyond the end"]
    assert not seeing.sound


def test_a_rewritten_tail_shows_only_against_an_anchor(ledger: Ledger) -> None:
    fill(ledger, 20)
    early = anchor_of(ledger, LINE)
    fill(ledger, 20, start=21)
    late = anchor_of(ledger, LINE)
    tamper(ledger, "UPDATE event SET lot = 'SL-999' WHERE seq = 30")
    make_hashes_anew(ledger)
    blind = verify(ledger)
    assert blind.sound
    assert blind.unseen() == UNSEEN
    seeing = verify(ledger, [late, early])
    assert [(one.anchor.seq, one.seen) for one in seeing.anchors] == [
        (20, "passes"), (40, "other rows"),
    ]  # fmt: skip
    assert "rows 21 to 40" in seeing.anchors[1].words
    assert seeing.words()[0] == "Line 1: rows 1 to 40 fit one another."
    assert seeing.unseen() == UNSEEN_AFTER
    assert not seeing.sound


def test_anchors_of_lines_and_rows_that_are_not_there(ledger: Ledger) -> None:
    fill(ledger)
    anchor = anchor_of(ledger, LINE)
    tamper(ledger, "DELETE FROM event WHERE seq = 12")
    audit = verify(ledger, [Anchor("Line 9", 3, anchor.digits), Anchor(LINE, 12, anchor.digits)])
    assert {one.seen for one in audit.anchors} == {"no line", "missing"}


def test_a_row_after_the_head_is_found(ledger: Ledger) -> None:
    fill(ledger)
    tamper(ledger, "UPDATE chain SET head = 38")
    assert found(verify(ledger)) == [("after the head", 39, 40)]


def test_a_head_with_another_hash_is_found(ledger: Ledger) -> None:
    fill(ledger)
    tamper(ledger, "UPDATE chain SET hash = :hash", hash=b"\x01" * 32)
    assert found(verify(ledger)) == [("head", 40, 40)]


def test_rows_of_a_line_that_is_not_listed_are_found(ledger: Ledger) -> None:
    fill(ledger)
    tamper(ledger, "DELETE FROM chain")
    assert found(verify(ledger)) == [("no chain", 1, 40)]


def test_a_row_moved_to_another_line_is_missed_in_its_own(ledger: Ledger) -> None:
    fill(ledger)
    tamper(ledger, "UPDATE event SET line = 'Line 2' WHERE seq = 12")
    assert found(verify(ledger)) == [("missing", 12, 12), ("missing", 1, 11), ("no chain", 1, 12)]


def test_a_missing_beginning_is_found_and_an_archive_explains_it(ledger: Ledger) -> None:
    fill(ledger)
    with ledger.reading() as connection:
        hash_ = connection.scalar(text("SELECT hash FROM event WHERE seq = 10"))
    tamper(ledger, "DELETE FROM event WHERE seq <= 10")
    assert found(verify(ledger)) == [("missing", 1, 10)]
    archived = (
        "INSERT INTO archive (line, upto_seq, upto_hash, from_seq, file, sha256, made_us) "
        f"VALUES ('{LINE}', 10, :hash, %d, 'a.parquet', :hash, 0)"
    )
    tamper(ledger, archived % 1, hash=hash_)
    audit = verify(ledger)
    assert audit.sound
    assert audit.words() == ("Line 1: rows 11 to 40 untouched, rows 1 to 10 in archives.",)
    tamper(ledger, "DELETE FROM archive", archived % 3, hash=hash_)
    assert found(verify(ledger)) == [("archive", 0, 0)]
    tamper(ledger, "DELETE FROM archive", archived % 1, hash=b"\x05" * 32)
    assert found(verify(ledger)) == [("changed", 11, 11)]


def test_bytes_that_are_no_text_are_a_changed_row_not_a_crash(ledger: Ledger) -> None:
    if ledger.dialect != "sqlite":
        pytest.skip("PostgreSQL takes none")
    fill(ledger)
    tamper(ledger, "UPDATE event SET author = CAST(x'ff41' AS TEXT) WHERE seq = 12")
    tamper(ledger, "UPDATE event SET body = x'00ff' WHERE seq = 20")
    assert found(verify(ledger)) == [("changed", 12, 12), ("changed", 20, 20)]
    assert verify(ledger).rows == ROWS


def test_a_number_that_is_none_is_told(ledger: Ledger) -> None:
    if ledger.dialect != "sqlite":
        pytest.skip("PostgreSQL takes none")
    fill(ledger)
    tamper(ledger, "UPDATE event SET seq = 'twelve' WHERE seq = 12")
    assert ("missing", 12, 12) in found(verify(ledger))
    assert ("no number", 0, 0) in found(verify(ledger))


def test_a_line_that_is_no_text_is_told(ledger: Ledger) -> None:
    if ledger.dialect != "sqlite":
        pytest.skip("PostgreSQL takes none")
    fill(ledger)
    tamper(ledger, "UPDATE event SET line = x'01' WHERE seq = 40")
    audit = verify(ledger)
    assert [one.words for one in audit.findings] == [
        "1 of 40 rows belong to no line that can be named"
    ]


COLUMNS = {
    "at_us": 5, "received_us": 5, "kind": "doff", "source": "other", "key": "other",
    "author": "A. Hand", "lane": 60, "ball": 7_000, "run": "r", "cone": "c", "lot": "x",
    "package": "p", "token": "t", "body": '{"counts":0.5}', "flags": "late",
    "hash": b"\x33" * 32, "line": "Line 7", "seq": 5_000,
}  # fmt: skip


@settings(max_examples=120)
@given(
    seq=st.integers(1, 30),
    column=st.sampled_from(sorted(COLUMNS)),
)
def test_any_one_change_in_any_row_is_found_at_that_row(seq: int, column: str) -> None:
    """Without a database: rows as they are read, one value of one of them another one."""
    rows, before = [], FIRST_HASH
    for number in range(1, 31):
        one = message(number)
        row = (
            LINE, number, one.at_us, one.at_us, one.kind, one.source, one.key, "", one.lane,
            one.ball, "", "", one.lot, "", "", f'{{"counts":{number}.0}}', "",
        )  # fmt: skip
        before = row_hash(before, row)
        rows.append((*row, before))
    bounds = Bounds(0, FIRST_HASH, 30, before)
    assert walk_chain(LINE, iter(rows), bounds)[0].sound
    place = (
        "line", "seq", "at_us", "received_us", "kind", "source", "key", "author", "lane", "ball",
        "run", "cone", "lot", "package", "token", "body", "flags", "hash",
    ).index(column)  # fmt: skip
    changed = list(rows[seq - 1])
    changed[place] = COLUMNS[column]
    if column == "line":
        del rows[seq - 1]
    else:
        rows[seq - 1] = tuple(changed)
    rows.sort(key=lambda row: row[1])
    audit, _ = walk_chain(LINE, iter(rows), bounds)
    first = audit.findings[0]
    assert (first.first, first.last) == (seq, seq)
    assert first.what == {"line": "missing", "seq": "missing", "hash": "hash"}.get(
        column, "changed"
    )


def test_a_row_that_stands_twice_and_a_text_of_another_form_are_told() -> None:
    head = (LINE, 1, 5, 5, "turns", "plc", "k1", "", 1, None, "", "", "", "", "")
    first = (*head, '{"counts": 1}', "")
    hash_ = row_hash(FIRST_HASH, first)
    rows = [(*first, hash_), (*first, hash_)]
    audit, _ = walk_chain(LINE, rows, Bounds(0, FIRST_HASH, 1, hash_))
    assert sorted(one.what for one in audit.findings) == ["body", "double"]


def test_a_chain_that_is_broken_throughout_is_told_in_one_sentence() -> None:
    rows = [
        (LINE, n, 5, 5, "turns", "plc", f"k{n}", "", 1, None, "", "", "", "", "", "{}", "",
         bytes([n % 251]) * 32)
        for n in range(1, 5_001)
    ]  # fmt: skip
    audit, _ = walk_chain(LINE, rows, Bounds(0, FIRST_HASH, 5_000, rows[-1][17]))
    assert [(one.what, one.first, one.last) for one in audit.findings] == [("changed", 1, 5_000)]
    assert "no row can be vouched for" in audit.words()[-1]


def test_no_anchor_of_a_line_without_records(ledger: Ledger) -> None:
    fill(ledger)
    with pytest.raises(BadInput, match="one of Line 1"):
        anchor_of(ledger, "Line 2")


def test_what_a_finding_leaves_open_is_said_and_an_anchor_closes_it(ledger: Ledger) -> None:
    """Rows 10 to 20 written anew with their hashes: the break shows at row 21 only."""
    fill(ledger, 15)
    between = anchor_of(ledger, LINE)
    fill(ledger, 25, start=16)
    with ledger.reading() as connection:
        kept = connection.execute(text("SELECT seq, hash FROM event WHERE seq > 20")).all()
        head = connection.scalar(text("SELECT hash FROM chain"))
    tamper(ledger, "UPDATE event SET lane = 9 WHERE seq = 10")
    make_hashes_anew(ledger)
    for seq, hash_ in kept:
        tamper(ledger, f"UPDATE event SET hash = :hash WHERE seq = {seq}", hash=bytes(hash_))
    tamper(ledger, "UPDATE chain SET hash = :hash", hash=bytes(head or b""))
    blind = verify(ledger)
    assert found(blind) == [("changed", 21, 21)]
    assert blind.words()[-1].endswith("still passes through rules that out.")
    seeing = verify(ledger, [between])
    assert [one.seen for one in seeing.anchors] == ["other rows"]
    assert (
        "something in rows 1 to 15 is not as kept when the anchor was printed"
        in seeing.anchors[0].words
    )
