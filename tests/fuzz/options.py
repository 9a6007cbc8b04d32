"""What is typed after `clew`: every option's own reading, and quick commands as a whole."""

from __future__ import annotations

from functools import cache

import click
from click.testing import CliRunner
from tests.fuzz.demo import demo_folder
from tests.fuzz.target import Target, check_line, may_refuse, text_of

_NAMED = {
    "{mill}": "", "{weighings}": "shift-weighings.csv", "{shades}": "shade-readings.csv",
    "{orders}": "orders.csv", "{first}": "first-balls.csv", "{events}": "line_events.csv",
}  # fmt: skip


@cache
def _commands() -> dict[str, click.Command]:
    from clew.cli.main import main

    found: dict[str, click.Command] = {}

    def walk(command: click.Command, path: tuple[str, ...]) -> None:
        if isinstance(command, click.Group):
            for name in command.list_commands(click.Context(command)):
                inner = command.get_command(click.Context(command), name)
                assert inner is not None
                walk(inner, (*path, name))
        else:
            found[" ".join(path)] = command

    walk(main, ())
    return found


def _typed(data: bytes) -> list[str]:
    words = [word.replace("\0", "") for word in text_of(data).split("\n")][:30]
    return [str(demo_folder() / _NAMED[word]) if word in _NAMED else word for word in words]


def _parsed(data: bytes) -> None:
    """The words of one command are read, and nothing is run."""
    name, *words = _typed(data)
    command = _commands().get(name)
    if command is None:
        return
    with may_refuse():
        try:
            command.make_context(name, words)
        except click.exceptions.Exit:  # --help
            return
        except click.ClickException as refused:
            assert refused.format_message()


def _parsed_seeds() -> list[bytes]:
    made = []
    for name, command in _commands().items():
        words = [name]
        for one in command.params:
            example = _EXAMPLES.get(type(one.type).__name__, "1")
            kind = getattr(one.type, "kind", None)
            if kind is not None:
                example = str(kind.example).split(" or ")[0]
            if isinstance(one.type, click.Choice):
                example = str(one.type.choices[0])
            if isinstance(one, click.Option):
                words += [one.opts[0]] if one.is_flag else [one.opts[0], example]
            else:
                words.append(example)
        made.append("\n".join(words).encode())
    return made


_EXAMPLES = {"Count": "400 tex", "Path": "{mill}", "StringParamType": "Line 1", "SpreadG": "1 g"}


def _whole(data: bytes) -> None:
    """A command is run as it is typed: it answers, or says in plain lines why it does not."""
    from clew.cli.main import main

    words = _typed(data)
    if not words or " ".join(words[:2]) not in _QUICK:
        return
    result = CliRunner().invoke(main, words)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code in (0, 1, 2), result.exit_code
    if result.exit_code == 2:
        for line in result.stderr.splitlines():
            if line.startswith("clew: "):
                check_line(line)


_SEEDS = (
    "yarn\nconvert\n400 tex\nto\nNm", "yarn\nconvert\n2.5\nNm\nin\nden\n--json",
    "yarn\nply\n20/2 Ne\n--take-up\n3 %", "yarn\nply\n2/28 Nm\n30 tex\n--order\nends-first\n--json",
    "yarn\nclass\n--mass\n100 g\n--length\n200 m",
    "yarn\nthickness\n--count\n400 tex\n--blend\n100 wool",
    "yarn\ncommercial\n--mass\n100 kg\n--regain\n12 %\n--blend\n70 wool, 30 nylon\n--json",
    "yarn\nbulk\n--count\n400 tex\n--shrink\n20 %\n--shrink-sd\n1 %",
    "yarn\noutput\n--speed\n300 m/min\n--count\n400 tex\n--lanes\n6", "mill\ncheck\n--mill\n{mill}",
    "yarn\neven\n--cone-cv\n2 %\n--within-cv\n1 %\n--cones\n6\n--balls\n20",
    "lot\ntrace\nSL-207 L1 W4 251125-1432\n--mill\n{mill}",
    "lot\ntrace\n--lot\nSL-207\n--line\nLine 1\n--mill\n{mill}",
    "lot\ntrace\n--cone\nC-1\n--mill\n{mill}\n--json",
    "lot\nrecall\n--dye-lot\nSL-207\n--mill\n{mill}",
    "lot\nshade\n{shades}\n--mill\n{mill}\n--standard\n23.8,8.2,-18.8",
    "lot\nrules\n--mill\n{mill}",
    "lot\nsample\n--lot-size\n1200\n--good\n1 %\n--alpha\n5 %\n--bad\n6 %\n--beta\n10 %",
    "ledger\nlog\n--mill\n{mill}\n--from\n2026-03-29\n--upto\n2026-03-30 05:41\n--line\nLine 1",
    "ledger\nverify\n--mill\n{mill}\n--anchor\n"
    "Line 1 · 12 · 0001-0203-0405-0607-0809-0A0B-0C0D-0E0F · 32",
    "ledger\narchive\n--line\nLine 1\n--before\n2026-01-01\n--mill\n{mill}",
    "ledger\nanchor\n--mill\n{mill}",
    "run\nlive\n--line\nLine 1\n--at\n2026-11-26T06:00:00Z\n--mill\n{mill}\n--json",
    "run\nset\n--winder\n4\n--target\n101 g\n--why\nlight\n--by\nIna\n--mill\n{mill}",
    "run\nend\n--why\ndone\n--by\nIna\n--at\n2026-11-26T06:00:00Z\n--mill\n{mill}",
    "ship\ncase\n--lot\nSL-207\n--balls\n40\n--by\nIna\n--mill\n{mill}",
    "ledger\nschema\n--kind\ndoff",
    "ship\npallet\n--case\nC-0001\n--by\nIna\n--mill\n{mill}",
    "plan\nmaterials\n{orders}\n--mill\n{mill}",
    "ledger\ntake\n{events}\n--line\nLine 1\n--by\nIna\n--day\n2026-11-26\n--mill\n{mill}",
    "weigh\nscale\n--help", "knots\nrates\n--help",
)  # fmt: skip
_QUICK = {" ".join(one.split("\n")[:2]) for one in _SEEDS}


@cache
def _words() -> tuple[bytes, ...]:
    options = {
        option
        for command in _commands().values()
        for one in command.params
        if isinstance(one, click.Option)
        for option in one.opts
    }
    return (
        *(f"\n{option}\n".encode() for option in sorted(options)), b"\n--json", b"\n--", b"\n-",
        b"\n--help",
        b"=", b"{mill}", b"100 g", b"1 yd", b"200 m", b"50 %", b"2026-02-29", b"24:00", b"1..4",
        b"\xff",
    )  # fmt: skip


TARGETS = (
    Target("options/parsed", _parsed_seeds, _parsed, _words, cases=100, share=1.5),
    Target("options/whole", lambda: [one.encode() for one in _SEEDS], _whole, _words, cases=12,
           limit_s=10.0, share=2.0),
)  # fmt: skip
