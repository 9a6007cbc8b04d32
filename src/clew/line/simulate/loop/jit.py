"""How the parts of the loop are compiled: into one function, without reference counting.

Nothing here makes or keeps an array; each part only passes on those of `compiled`. Counting the
references to them at every call took two fifths of the loop's time (measured; `_nrt` is the
compiler's own switch for it), and calling the parts instead of having them in place a fifth of
what was left. The parts are not cached one by one: `compiled` is, with all in it. Without the
wrappers by which Python would call a part, an eighth of the compiling goes too.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import njit

_njit: Any = njit
Part = TypeVar("Part", bound=Callable[..., Any])


def part(function: Part) -> Part:
    """Compile a part of the loop."""
    return cast(Part, _inside(forceinline=True)(function))


def aside(function: Part) -> Part:
    """Compile a part that is seldom called, and leave it a call: it is compiled but once."""
    return cast(Part, _inside()(function))


def inlined(function: Part) -> Part:
    """Compile a small part of the loop into whatever calls it."""
    return cast(Part, _inside(inline="always")(function))


def open_part(function: Part) -> Part:
    """Compile a part that Python may call as well."""
    return cast(Part, _njit(_nrt=False)(function))


def _inside(**how: Any) -> Any:
    return _njit(_nrt=False, no_cpython_wrapper=True, no_cfunc_wrapper=True, **how)
