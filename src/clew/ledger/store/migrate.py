"""Bringing a ledger's tables to the form this program reads, and back."""

from __future__ import annotations

from typing import Any

from sqlalchemy.exc import DBAPIError

from clew.faults import BadInput, Fault
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import trouble_of

NEWEST = "head"
TURN = 0x636C6577
"""Number of the lock that who changes the tables holds on PostgreSQL."""


def _config() -> Any:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "clew.ledger.store:migrations")
    config.set_main_option("path_separator", "os")
    return config


def step_of(ledger: Ledger) -> str:
    """Say which step the tables stand at; empty for a database without them."""
    from alembic.runtime.migration import MigrationContext

    with ledger.reading() as connection:
        return MigrationContext.configure(connection).get_current_revision() or ""


def newest_step() -> str:
    """Say which step this program wants."""
    from alembic.script import ScriptDirectory

    return ScriptDirectory.from_config(_config()).get_current_head() or ""


def migrate(ledger: Ledger, to: str = NEWEST) -> None:
    """Make, or bring up, or take back the tables, in one transaction.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    to : str
        A step, ``head`` for the newest or ``base`` for none.

    Raises
    ------
    BadInput
        For a step that there is not, or a ledger of a newer program.
    CannotKeep
        When the database cannot write.
    """
    from alembic import command
    from alembic.script.revision import ResolutionError
    from alembic.util import CommandError

    config = _config()
    try:
        with ledger.writing() as connection:
            if ledger.dialect == "postgresql":  # two that make one ledger: one after the other
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({TURN})")
            config.attributes["connection"] = connection
            now, steps = _place(connection, config)
            if now and now not in steps:
                raise BadInput(
                    Fault("a ledger made by a newer Clew", "that one, or newer", value=now)
                )
            goal = steps[0] if to == NEWEST else to
            down = goal == "base" or (now in steps and steps.index(goal) > steps.index(now))
            (command.downgrade if down else command.upgrade)(config, goal)
    except (CommandError, ResolutionError, ValueError) as error:
        raise BadInput(Fault("no such step", f"{NEWEST}, base or a step", value=to)) from error
    except DBAPIError as error:
        raise trouble_of(error.orig or error) from error


def _place(connection: Any, config: Any) -> tuple[str, list[str]]:
    """Where the tables stand, and all steps, the newest first."""
    from alembic.runtime.migration import MigrationContext
    from alembic.script import ScriptDirectory

    now = MigrationContext.configure(connection).get_current_revision() or ""
    script = ScriptDirectory.from_config(config)
    return now, [one.revision for one in script.walk_revisions()]
