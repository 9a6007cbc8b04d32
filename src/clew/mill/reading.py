"""Reading the mill file, with every fault in it reported at once."""

from __future__ import annotations

import errno
import stat
from collections.abc import Iterable
from pathlib import Path

from pydantic import ValidationError

from clew.faults import BadInput, Fault
from clew.languages import figure, say, say_many
from clew.mill.fields import Clash
from clew.mill.finding import Check, find_faults
from clew.mill.model import Mill
from clew.mill.places import as_written, found_at, section_and_key, shown
from clew.mill.toml_text import ReadText, read_text

FILE_NAME = "mill.toml"
LARGEST_BYTES = 2_000_000
"""A mill file of a hundred times the demo mill's size is refused before it is read."""
MOST_FAULTS = 200
"""So many faults are told; the last line says how many more there are."""
_WANTED = say("the folder of a mill, or its {file}", file=FILE_NAME)
_START = say("a mill file; clew mill init FOLDER writes one to start from")


def read_mill(path: Path | str, checks: Iterable[Check] = ()) -> Mill:
    """Read a mill file.

    Parameters
    ----------
    path : Path or str
        The mill's folder, or the file itself.
    checks : iterable of Check
        Further checks, of what could be read; their faults are reported with all others.

    Returns
    -------
    Mill
        The mill.

    Raises
    ------
    BadInput
        With everything that is wrong, each with file, line, section, key, value and what was
        expected.
    """
    file = mill_file(path)
    return mill_from_text(_text_of(file), str(file), checks)


def mill_file(path: Path | str) -> Path:
    """Find the mill file: the path itself, or ``mill.toml`` in it when it is a folder."""
    path = Path(path)
    try:
        return path / FILE_NAME if path.is_dir() else path
    except (OSError, ValueError):
        return path


def mill_text(path: Path | str) -> str:
    """Read the text of a mill file, unjudged.

    Parameters
    ----------
    path : Path or str
        The mill's folder, or the file itself.

    Returns
    -------
    str
        The text.

    Raises
    ------
    BadInput
        When the file is not there, cannot be read, is too large or is not text in UTF-8.
    """
    return _text_of(mill_file(path))


def mill_from_text(text: str, file: str = FILE_NAME, checks: Iterable[Check] = ()) -> Mill:
    """Read a mill from the text of a mill file.

    Parameters
    ----------
    text : str
        The text.
    file : str
        Name to give in faults.
    checks : iterable of Check
        Further checks, of what could be read.

    Returns
    -------
    Mill
        The mill.

    Raises
    ------
    BadInput
        With everything that is wrong.
    """
    checks = tuple(checks)
    if not text.strip():
        raise BadInput(Fault(say("an empty file"), _START, file))
    if text.lstrip().startswith("{"):
        raise BadInput(
            Fault(say("JSON, not a mill file"), say("TOML; clew mill import reads JSON"), file, 1)
        )
    read = read_text(text, file)
    try:
        mill = Mill.model_validate(read.raw, by_alias=True, by_name=False)
        found = [clash for check in checks for clash in check(mill)]
    except ValidationError as error:
        places = (tuple(part for part in one["loc"]) for one in error.errors(include_url=False))
        found = find_faults(read.raw, checks) or [
            Clash(place, say("a value that cannot stand here"), say("another value"))
            for place in places
        ]
    faults = _in_order([*read.faults, *_placed(found, read, file)])
    if faults:
        raise BadInput(faults)
    return mill


def _placed(found: list[Clash], read: ReadText, file: str) -> list[Fault]:
    """Give each fault its line, section and key; leave out what rests on text put aside."""
    faults = []
    for clash in found:
        line = read.lines.line_of(clash.path)
        if line in read.put_aside:
            continue
        section, key = section_and_key(read.raw, clash.path)
        value = clash.value if clash.value is not None else found_at(read.raw, clash.path)
        said = value if isinstance(value, str) and clash.value is not None else shown(value)
        faults.append(Fault(clash.what, clash.expected, file, line, section, key, said))
    return faults


def _in_order(faults: list[Fault]) -> list[Fault]:
    ordered = sorted(faults, key=lambda fault: fault.line or LARGEST_BYTES)
    if len(ordered) <= MOST_FAULTS:
        return ordered
    more = len(ordered) - MOST_FAULTS
    return [
        *ordered[:MOST_FAULTS],
        Fault(say_many("{n} more faults", "{n} more faults", more), file=ordered[0].file),
    ]


def _text_of(file: Path) -> str:
    name = str(file)
    data = _bytes_of(file)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or data[:200].count(0) > len(data[:200]) // 3:
        raise BadInput(Fault(say("text in UTF-16"), say("a file saved as UTF-8"), name, 1))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        at = error.start + (3 if data.startswith(b"\xef\xbb\xbf") else 0)
        raise BadInput(
            Fault(
                say("not UTF-8 text"),
                say("a file saved as UTF-8"),
                name,
                data.count(b"\n", 0, at) + 1,
                value=say(
                    "byte {byte}, number {n} of the file", byte=f"0x{data[at]:02X}", n=at + 1
                ),
            )
        ) from None
    if "\0" in text:
        raise BadInput(
            Fault(
                say("a NUL character"),
                say("a text file in UTF-8"),
                name,
                text.count("\n", 0, text.index("\0")) + 1,
            )
        )
    return text


def _bytes_of(file: Path) -> bytes:
    name = str(file)
    try:
        found = file.stat()
        if not stat.S_ISREG(found.st_mode):
            raise BadInput(Fault(say("not a plain file"), _WANTED, name))
        if found.st_size > LARGEST_BYTES:
            raise BadInput(_too_large(name, found.st_size))
        with file.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise BadInput(_unread(file, error)) from None
    if len(data) > LARGEST_BYTES:
        raise BadInput(_too_large(name, len(data)))
    return data


def _too_large(name: str, size: int) -> Fault:
    return Fault(
        say("too large for a mill file"),
        say("at most {limit}", limit=figure(f"{LARGEST_BYTES / 1e6:g} MB")),
        name,
        value=figure(f"{size / 1e6:.3g} MB"),
    )


def _unread(file: Path, error: OSError | ValueError) -> Fault:
    name = as_written(str(file), len(str(file)))
    if isinstance(error, ValueError):
        return Fault(say("not the name of a file"), _WANTED, name)
    if error.errno == errno.ENOENT and file.name == FILE_NAME and file.parent.is_dir():
        return Fault(
            say("no {file} in this folder", file=FILE_NAME),
            _START,
            name,
        )
    if error.errno == errno.ENOENT:
        return Fault(say("no such file or folder"), _WANTED, name)
    if error.errno in (errno.EACCES, errno.EPERM):
        return Fault(say("may not be read"), say("a file that you have the right to read"), name)
    if error.errno == errno.ENOTDIR:
        return Fault(say("a file where a folder is named"), _WANTED, name)
    return Fault(say("cannot be read"), _WANTED, name, value=error.strerror or "")
