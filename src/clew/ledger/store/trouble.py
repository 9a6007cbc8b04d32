"""When the ledger cannot keep anything: said in words a hand understands, never swallowed."""

from __future__ import annotations

import errno

from clew.languages import say


class CannotKeep(Exception):  # noqa: N818 - it is the disk that fails, not an error of ours
    """The ledger could not write: nothing of what was handed over was kept or acknowledged.

    Attributes
    ----------
    reason : str
        Why, in plain words.
    for_good : bool
        Whether trying again by itself is of no use until somebody has mended it.
    """

    def __init__(self, reason: str, *, for_good: bool) -> None:
        super().__init__(reason)
        self.reason = reason
        self.for_good = for_good


_SIGNS: tuple[tuple[str, str, bool], ...] = (
    ("disk is full", say("the disk that holds the ledger is full"), True),
    ("no space left", say("the disk that holds the ledger is full"), True),
    ("could not extend file", say("the disk that holds the ledger is full"), True),
    ("readonly", say("the ledger's file, or its disk, may not be written"), True),
    ("read-only", say("the ledger's file, or its disk, may not be written"), True),
    (
        "unable to open",
        say("the ledger's file cannot be opened; is its disk read-only?"),
        True,
    ),
    ("disk i/o", say("the disk that holds the ledger failed to write"), True),
    ("malformed", say("the ledger's file is damaged; restore the last backup"), True),
    ("not a database", say("the ledger's file is damaged; restore the last backup"), True),
    (
        "moved or replaced",
        say("the ledger's file was moved or replaced while it was open"),
        True,
    ),
    ("lock timeout", say("another program keeps the ledger locked"), False),
    ("fatal: database", say("there is no such database on its server"), True),
    ("is locked", say("another program keeps the ledger locked"), False),
    (
        "no such table",
        say("the ledger's tables are missing; clew ledger migrate makes them"),
        True,
    ),
    (
        "does not exist",
        say("the ledger's tables are missing; clew ledger migrate makes them"),
        True,
    ),
)


def trouble_of(error: BaseException) -> CannotKeep:
    """Say what a failed write means.

    Parameters
    ----------
    error : exception
        What the database driver raised.

    Returns
    -------
    CannotKeep
        In plain words, with the driver's own behind them where it is none that is known.
    """
    text = " ".join(str(error).split())
    found = text.casefold()
    for sign, words, for_good in _SIGNS:
        if sign in found:
            return CannotKeep(words, for_good=for_good)
    if isinstance(error, OSError) and error.errno == errno.ENOSPC:
        return CannotKeep(say("the disk that holds the ledger is full"), for_good=True)
    return CannotKeep(
        say("the database does not answer ({reason})", reason=text[:120]), for_good=False
    )
