"""What must agree between the sections of a mill file: names, references, and what rests on them.

A reference is written exactly as the name it means, so that everything later may compare them.
Where a name in a section could not be read, no reference into that section is judged.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from clew.languages import figure, say
from clew.mill.fields import Clash, KeyPath
from clew.mill.places import one_of

COUNT_SLIP = 2.0
"""A measured count so many times the nominal, or so many times less, is a slip of unit."""

_SECOND = {
    "fibre_blend": say("a second fibre blend of this name"),
    "yarn": say("a second yarn of this name"),
    "ball": say("a second ball of this name"),
    "line": say("a second line of this name"),
    "colour": say("a second colour of this name"),
    "dye_lot": say("a second dye lot of this name"),
    "order": say("a second order of this number"),
}
_NO_SUCH = {
    "fibre_blend": say("no such fibre blend in this file"),
    "yarn": say("no such yarn in this file"),
    "ball": say("no such ball in this file"),
    "colour": say("no such colour in this file"),
}


def clashes_of_mill(have: Any) -> Iterator[Clash]:
    """Find what does not agree between the sections of a mill.

    Parameters
    ----------
    have : Any
        The mill, or as much of it as could be read; a value that could not be is None.

    Yields
    ------
    Clash
        One at a time; paths start at the top of the file.
    """
    yield from _twice(have)
    yield from _unknown_names(have)
    yield from _small_cones(have)
    yield from _slipped_counts(have)
    yield from _orders_without_yarn(have)
    yield from _unknown_lines_and_cases(have)
    yield from _unknown_shifts(have)


def _unknown_lines_and_cases(have: Any) -> Iterator[Clash]:
    lines = _names(have.line)
    for path, order in _entries(have.order, "order"):
        for place, wanted in enumerate(order.lines or ()):
            if lines is not None and wanted is not None and wanted not in lines:
                yield Clash(
                    (*path, "lines", place),
                    say("no such line in this file"),
                    _nearest(wanted, lines),
                )
    if have.pack is None:
        return
    cases = _names(have.pack.case) or []
    for path, ball in _entries(have.ball, "ball"):
        wanted = ball.packing.case if ball.packing is not None else None
        if wanted is not None and wanted not in cases:
            yield Clash(
                (*path, "packing", "case"),
                say("no such case under [pack]"),
                _nearest(wanted, cases),
            )


def _unknown_shifts(have: Any) -> Iterator[Clash]:
    if have.plan is None or have.mill is None or have.mill.shift_starts is None:
        return
    starts = have.mill.shift_starts
    for place, start in enumerate(have.plan.worked_shifts or ()):
        if start not in starts:
            yield Clash(
                ("plan", "worked_shifts", place), say("no shift begins then"), one_of(starts)
            )


def _entries(entries: Any, key: str) -> Iterator[tuple[KeyPath, Any]]:
    for place, entry in enumerate(entries or ()):
        yield (key, place), entry


def _lots(have: Any) -> Iterator[tuple[KeyPath, Any]]:
    for path, colour in _entries(have.colour, "colour"):
        for place, lot in enumerate(colour.dye_lot or ()):
            yield (*path, "dye_lot", place), lot


def _twice(have: Any) -> Iterator[Clash]:
    named = [
        (list(_entries(getattr(have, key), key)), "name", key)
        for key in ("fibre_blend", "yarn", "ball", "line", "colour")
    ]
    named.append((list(_lots(have)), "lot", "dye_lot"))
    named.append((list(_entries(have.order, "order")), "number", "order"))
    for entries, key, word in named:
        first: dict[str, str] = {}
        for path, entry in entries:
            name = getattr(entry, key)
            if name is None:
                continue
            if name.casefold() in first:
                other = first[name.casefold()]
                what = _SECOND[word]
                if other != name:
                    what = say(
                        '{fault} (capitals make no difference to "{name}")', fault=what, name=other
                    )
                yield Clash(
                    (*path, key),
                    what,
                    say("each number once") if key == "number" else say("each name once"),
                )
            first.setdefault(name.casefold(), name)


def _names(entries: Any, key: str = "name") -> list[str] | None:
    names = [getattr(entry, key) for entry in entries or ()]
    return names if names and None not in names else None


def _unknown_names(have: Any) -> Iterator[Clash]:
    references = [
        *((path, entry, "blend", "fibre_blend") for path, entry in _entries(have.yarn, "yarn")),
        *((path, entry, "yarn", "yarn") for path, entry in _entries(have.ball, "ball")),
        *((path, entry, "yarn", "yarn") for path, entry in _lots(have)),
        *(
            (path, entry, key, key)
            for path, entry in _entries(have.order, "order")
            for key in ("ball", "colour")
        ),
    ]
    names = {
        section: _names(getattr(have, section))
        for section in ("fibre_blend", "yarn", "ball", "colour")
    }
    for path, entry, key, section in references:
        known, wanted = names[section], getattr(entry, key)
        if section == "colour" and known is None and have.colour == ():
            known = []
        if known is not None and wanted is not None and wanted not in known:
            yield Clash(
                (*path, key),
                _NO_SUCH[section],
                _nearest(wanted, known),
            )


def _nearest(wanted: str, known: list[str]) -> str:
    """Name what was probably meant, or everything there is."""
    folded = {name.casefold(): name for name in known}
    if wanted.casefold() in folded:
        return say('"{name}", written exactly so', name=folded[wanted.casefold()])
    from difflib import get_close_matches

    close = get_close_matches(wanted.casefold(), folded, n=1)
    if close:
        return say('"{name}", perhaps', name=folded[close[0]])
    return one_of(f'"{name}"' for name in known) or say("a name that is in it")


def _by_name(entries: Any) -> dict[str, Any]:
    """Entries by name, without those whose name stands twice: none knows which is meant."""
    names = [entry.name for entry in entries or ()]
    often = Counter(names)
    pairs = zip(names, entries or (), strict=True)
    return {name: entry for name, entry in pairs if name and often[name] == 1}


def _small_cones(have: Any) -> Iterator[Clash]:
    for path, yarn in _entries(have.yarn, "yarn"):
        balls = [
            (max(ball.declared_mass_g, ball.target_mass_g or 0.0), ball.name)
            for ball in have.ball or ()
            if ball.yarn == yarn.name and None not in (ball.yarn, ball.name, ball.declared_mass_g)
        ]
        if not balls or yarn.cone_mass_g is None:
            continue
        mass_g, name = max(balls)
        if yarn.cone_mass_g < mass_g:
            yield Clash(
                (*path, "cone_mass"),
                say('a cone lighter than one ball of "{name}"', name=name),
                say("more than {limit}", limit=figure(f"{mass_g:g} g")),
            )


def _slipped_counts(have: Any) -> Iterator[Clash]:
    yarns = _by_name(have.yarn)
    for path, lot in _lots(have):
        yarn = yarns.get(lot.yarn)
        if yarn is None or yarn.count_spun_tex is None or lot.count_measured_tex is None:
            continue
        if not 1 / COUNT_SLIP <= lot.count_measured_tex / yarn.count_spun_tex <= COUNT_SLIP:
            yield Clash(
                (*path, "count_measured"),
                say('a count far from that of "{name}"', name=yarn.name),
                say("somewhere near {count}", count=figure(f"{yarn.count_spun_tex:.4g} tex")),
            )


def _orders_without_yarn(have: Any) -> Iterator[Clash]:
    balls, colours = _by_name(have.ball), _by_name(have.colour)
    dyed = {name: [lot.yarn for lot in colour.dye_lot or ()] for name, colour in colours.items()}
    yarns = set(_names(have.yarn) or ())
    for path, order in _entries(have.order, "order"):
        ball, lots = balls.get(order.ball), dyed.get(order.colour)
        yarn = ball.yarn if ball is not None else None
        if yarn not in yarns or not lots or yarn in lots or not yarns.issuperset(lots):
            continue
        others = [f'"{name}"' for name, found in dyed.items() if yarn in found]
        yield Clash(
            (*path, "colour"),
            say(
                'a colour without a dye lot of "{yarn}", which "{ball}" is made of',
                yarn=yarn,
                ball=order.ball,
            ),
            one_of(others) or say('a dye lot of "{yarn}" in it', yarn=yarn),
        )
