"""A fault says what, where and what was expected, on one line."""

from __future__ import annotations

from clew.faults import BadInput, Fault


def test_a_fault_names_file_line_section_key_value_and_expectation() -> None:
    fault = Fault(
        "a mass of 0",
        "a mass above 0",
        "mill.toml",
        12,
        'ball "Querl 100"',
        "declared_mass",
        "'0 g'",
    )
    assert str(fault) == (
        'mill.toml:12: [ball "Querl 100"] declared_mass: '
        "a mass of 0 (got '0 g'); expected a mass above 0"
    )


def test_a_fault_never_breaks_the_line() -> None:
    assert "\n" not in str(Fault("one\ntwo", value="three\nfour"))


def test_a_fault_is_said_in_the_words_it_is_printed_in() -> None:
    parts = (
        {},
        {"file": "mill.toml", "line": 12},
        {"line": 3, "section": 'ball "Querl 100"', "key": "declared_mass"},
    )
    for place in parts:
        for value in ("", "'0 g'"):
            for expected in ("", "above 0"):
                fault = Fault("a mass of 0", expected, value=value, **place)  # type: ignore[arg-type]
                assert fault.said() == str(fault)


def test_bad_input_keeps_every_fault() -> None:
    bad = BadInput([Fault("one"), Fault("two")])
    assert [fault.what for fault in bad.faults] == ["one", "two"]
    assert str(bad) == "one\ntwo"
