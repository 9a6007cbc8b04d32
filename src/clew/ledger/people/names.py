"""Names of people and machines: how they are read, and when two are one."""

from __future__ import annotations

import unicodedata

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.kinds import LONGEST_NAME
from clew.ledger.events.reading import is_plain


def read_name(said: str, what: str = "name") -> str:
    """Read a name.

    Parameters
    ----------
    said : str
        As it was typed.
    what : str
        Key for a fault.

    Returns
    -------
    str
        In Unicode's composed form, with single blanks.

    Raises
    ------
    BadInput
        When it is empty, too long or holds control characters.
    """
    if len(said) <= 2 * LONGEST_NAME and is_plain(said):
        name = " ".join(unicodedata.normalize("NFC", said).split())
        if 0 < len(name) <= LONGEST_NAME:
            return name
    raise BadInput(
        Fault(
            say("no name"),
            say("1 to {most} characters", most=LONGEST_NAME),
            key=what,
            value=repr(said)[:60],
        )
    )


def key_of(name: str) -> str:
    """Make the form in which two spellings of one name are the same.

    Whatever is typed at the door comes here: what no database can hold as text is left out.
    """
    plain = "".join(one for one in name if is_plain(one))
    return unicodedata.normalize("NFC", " ".join(plain.split()).casefold())
