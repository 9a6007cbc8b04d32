"""Run by Alembic: make steps on the connection that was handed over."""

from alembic import context

import clew.ledger.people.tables
from clew.ledger.store.schema import METADATA

assert (
    clew.ledger.people.tables.PERSON.metadata is METADATA
)  # every table of the ledger hangs there

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
