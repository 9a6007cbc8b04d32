"""The hash that ties each row of a line to the row before."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

FIRST_HASH = bytes(32)
"""What stands before the first row of a chain."""

# made once: json.dumps makes a new one at each call, and this is done for every row
_BODY = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
_ROW = json.JSONEncoder(separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def body_text(body: Mapping[str, Any]) -> str:
    """Write a body as the one JSON text it has: keys sorted, no spaces, UTF-8 as it is.

    Raises
    ------
    ValueError
        For a number that is not finite: JSON has none.
    """
    return _BODY.encode(dict(body))


def row_hash(before: bytes, row: tuple[Any, ...]) -> bytes:
    """Hash one row onto the row before.

    Parameters
    ----------
    before : bytes
        Hash of the row before, or `FIRST_HASH`.
    row : tuple
        All columns but the hash, in the order of `clew.ledger.store.schema.EVENT_COLUMNS`.

    Returns
    -------
    bytes
        SHA-256 of the hash before and the row as a JSON array, in UTF-8. A list in JSON says
        where each value ends, so no two rows have one text.
    """
    return hashlib.sha256(before + _ROW.encode(row).encode()).digest()
