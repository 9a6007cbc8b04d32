"""Where a mill keeps its ledger, and how it takes in what is sent."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from clew.mill.fields import Line, Section, Whole


class LedgerRules(Section):
    """The ledger of this mill.

    ``database`` is the URL of a PostgreSQL database, without a password (that stays in the
    driver's own password file); left out, the ledger is ``mill.db`` beside the mill file. What
    lands in the folder ``watch`` is taken in by `clew ledger watch`; ``mqtt`` is the address of a
    broker that machines send to. Rows older than ``keep_years`` may go out to an archive.
    """

    database: Line = ""
    watch: Line = "incoming"
    mqtt: Line = ""
    keep_years: Annotated[Whole, Field(ge=1, le=100)] = 10
