"""The short form of the fuzz: each target some cases, and every input that was once at fault."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, Phase, given, settings, strategies
from tests.fuzz.engine import fault_of, timed
from tests.fuzz.mutate import mutate
from tests.fuzz.target import Target, check_line, may_refuse
from tests.fuzz.targets import FAMILIES, every_target

from clew.faults import BadInput, Fault

CORPUS = Path(__file__).parent / "corpus"
COMPILED = ("web/heavy-pages", "web/heavy-programs")
"""Of these the short form would be no short one: the first answer compiles for minutes."""
QUICK = [one for one in every_target().values() if one.name not in COMPILED]


@pytest.mark.parametrize("target", QUICK, ids=lambda one: one.name)
def test_a_parser_reads_or_refuses_whatever_it_is_given(target: Target) -> None:
    sound = [one[: target.most_bytes] for one in target.sound()]
    words = target.grammar()

    @settings(
        max_examples=-(-target.cases // 2), derandomize=True, database=None, deadline=None,
        suppress_health_check=list(HealthCheck), phases=[Phase.generate],
    )  # fmt: skip
    @given(number=strategies.integers(0, 2**32))
    def fed(number: int) -> None:
        chance = Random(number)
        data = mutate(chance, chance.choice(sound), sound, words, target.most_bytes)
        with timed(target.limit_s * 10.0):
            target.run(data)

    fed()


def _kept() -> list[Path]:
    return sorted(path for path in CORPUS.glob("*/*") if path.is_file())


@pytest.mark.parametrize("path", _kept(), ids=lambda one: f"{one.parent.name}/{one.name}")
def test_what_was_once_at_fault_is_so_no_more(path: Path) -> None:
    target = every_target()[path.parent.name.replace("-", "/", 1)]
    with timed(target.limit_s * 10.0):
        target.run(path.read_bytes())


def test_every_folder_of_the_corpus_is_of_a_target() -> None:
    known = {name.replace("/", "-", 1) for name in every_target()}
    assert {path.name for path in CORPUS.iterdir()} <= known
    assert len(_kept()) >= 10


def test_every_family_has_targets() -> None:
    assert {name.split("/")[0] for name in every_target()} == set(FAMILIES)


@pytest.mark.parametrize("name", sorted(every_target()))
def test_mutations_change_an_input_and_keep_to_its_length(name: str) -> None:
    if name in COMPILED or name.startswith(("web/", "kept/")):
        pytest.skip("gathering its sound inputs takes seconds")
    target = every_target()[name]
    sound = [one[: target.most_bytes] for one in target.sound()]
    made = {
        mutate(Random(number), sound[0], sound, target.grammar(), target.most_bytes)
        for number in range(40)
    }
    assert len(made) > 20
    assert all(len(one) <= target.most_bytes for one in made)


class TestTheWatchItself:
    """A fuzz that cannot find a fault is none."""

    @staticmethod
    def target(run: object) -> Target:
        return Target("x/y", list, run, limit_s=0.2)  # type: ignore[arg-type]

    def test_another_exception_is_a_fault(self) -> None:
        where, how = fault_of(self.target(lambda data: 1 // 0), b"")
        assert where.startswith("ZeroDivisionError")
        assert "1 // 0" in how

    def test_an_input_that_takes_too_long_is_a_fault(self) -> None:
        def endless(data: bytes) -> None:
            while True:
                pass

        assert fault_of(self.target(endless), b"")[0].startswith("TooSlow")

    def test_a_refusal_is_none(self) -> None:
        def refuse(data: bytes) -> None:
            with may_refuse():
                raise BadInput(Fault("no number", value="x"))

        assert fault_of(self.target(refuse), b"") == ("", "")

    @pytest.mark.parametrize("line", ["", "a\x1b[31m", "\ud800", "a\u202eb", "a\nb", "x" * 5000])
    def test_a_line_that_no_screen_can_show_is_a_fault(self, line: str) -> None:
        with pytest.raises(AssertionError):
            check_line(line)


class TestFaultsAreSafeToPrint:
    """Found by nearly every target: what was typed came back as it was."""

    @settings(max_examples=50, deadline=None)
    @given(strategies.text(), strategies.text(), strategies.text())
    def test_whatever_is_repeated(self, value: str, key: str, section: str) -> None:
        check_line(str(Fault("no such thing", "one that is", "mill.toml", 3, section, key, value)))

    def test_a_control_is_written_as_an_escape(self) -> None:
        fault = Fault("no code", value="a\x1b[31m\udcff\u202e")
        assert fault.value == "a\\x1b[31m\\udcff\\u202e"
        assert str(fault) == "no code (got a\\x1b[31m\\udcff\\u202e)"

    def test_a_long_text_is_cut(self) -> None:
        assert len(str(Fault("no code", "another", key="k" * 9000, value="x" * 9000))) < 800

    def test_of_a_long_file_name_the_end_stays(self) -> None:
        assert str(Fault("no file", file="/a" * 2000 + "/mill.toml")).endswith(
            "/mill.toml: no file"
        )
        assert len(str(Fault("no file", file="/a" * 2000))) < 1100

    def test_ordinary_text_stays_as_it_is(self) -> None:
        fault = Fault("no ball", "one of them", "mühle.toml", 7, 'ball "Žižkov"', "größe", "10 µm")
        assert str(fault) == (
            'mühle.toml:7: [ball "Žižkov"] größe: no ball (got 10 µm); expected one of them'
        )
