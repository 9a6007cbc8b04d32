"""Files beside the mill file that the office sends: orders, and the plan as it stands."""

from __future__ import annotations

from pathlib import Path

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.web.files_beside import FileKind, FilesBeside, first_text

ORDER_COLUMNS = frozenset(("order", "customer", "ball", "colour", "balls", "due"))
PLAN_COLUMNS = frozenset(("line", "place", "run", "order", "start", "end"))
MOST_BYTES = 2_000_000
_HEAD_BYTES = 1 << 12


class OrderFiles(FilesBeside[str]):
    """The lists of orders that lie beside the mill file; read as text.

    Parameters
    ----------
    folder : Path
        The folder that holds mill.toml, or the file itself.
    """

    def __init__(self, folder: Path) -> None:
        super().__init__(
            FileKind("orders", "orders", (".csv",), _is_orders, read_text, MOST_BYTES), folder
        )


class PlanFiles(FilesBeside[str]):
    """The plans that lie beside the mill file; read as text.

    Parameters
    ----------
    folder : Path
        The folder that holds mill.toml, or the file itself.
    """

    def __init__(self, folder: Path) -> None:
        super().__init__(
            FileKind("plans", "plan", (".csv",), _is_plan, read_text, MOST_BYTES), folder
        )


def read_text(path: Path) -> str:
    """Read a file as text, whatever it begins with; raises `BadInput` when it is none."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        where = say("byte {start}", start=error.start)
        raise BadInput(
            Fault(say("not UTF-8 text"), say("CSV in UTF-8"), file=path.name, value=where)
        ) from None
    except OSError as error:
        reason = error.strerror or say("not a file")
        raise BadInput(
            Fault(say("cannot be read"), say("a CSV file"), file=path.name, value=reason)
        ) from None


def _head(path: Path) -> set[str]:
    text = first_text(path, _HEAD_BYTES)
    head = next((line for line in text.splitlines() if line.strip(" ,;")), "")
    between = ";" if head.count(";") > head.count(",") else ","
    return {cell.strip(' "').casefold() for cell in head.split(between)}


def _is_orders(path: Path) -> bool:
    head = _head(path)
    return head >= ORDER_COLUMNS and not head >= PLAN_COLUMNS


def _is_plan(path: Path) -> bool:
    return _head(path) >= PLAN_COLUMNS
