"""Run by Alembic: make steps on the connection that was handed over."""

from alembic import context

from clew.ledger.store.schema import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
