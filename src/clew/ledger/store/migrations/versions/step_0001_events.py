"""Events, their chains, what could not be read, and how far files are taken in."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_NAMED = ("run", "cone", "lot", "package", "token")


def upgrade() -> None:
    """Make the tables, their indexes, and the triggers that let no row be changed."""
    op.create_table(
        "chain",
        sa.Column("line", sa.Text(), nullable=False),
        sa.Column("head", sa.BigInteger(), nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.Column("newest_us", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("line"),
        comment="a line's chain: its last row, that row's hash, the latest moment it speaks of",
    )
    op.create_table(
        "event",
        sa.Column("line", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("at_us", sa.BigInteger(), nullable=False),
        sa.Column("received_us", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("lane", sa.Integer(), nullable=False),
        sa.Column("ball", sa.BigInteger(), nullable=True),
        sa.Column("run", sa.Text(), nullable=False),
        sa.Column("cone", sa.Text(), nullable=False),
        sa.Column("lot", sa.Text(), nullable=False),
        sa.Column("package", sa.Text(), nullable=False),
        sa.Column("token", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("flags", sa.Text(), nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("line", "seq", name="event_pk"),
        sa.UniqueConstraint("line", "source", "key", name="event_once"),
        comment="what happened; rows are only ever added",
    )
    op.create_index("event_by_time", "event", ["line", "at_us"])
    op.create_index("event_by_kind", "event", ["line", "kind", "at_us", "lane"])
    for name in _NAMED:
        filled = sa.text(f"{name} <> ''")
        op.create_index(
            f"event_by_{name}",
            "event",
            [name, "at_us"],
            sqlite_where=filled,
            postgresql_where=filled,
        )
    op.create_table(
        "archive",
        sa.Column("line", sa.Text(), nullable=False),
        sa.Column("upto_seq", sa.BigInteger(), nullable=False),
        sa.Column("upto_hash", sa.LargeBinary(), nullable=False),
        sa.Column("from_seq", sa.BigInteger(), nullable=False),
        sa.Column("file", sa.Text(), nullable=False),
        sa.Column("sha256", sa.LargeBinary(), nullable=False),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("line", "upto_seq", name="archive_pk"),
        comment="rows that went out to a file: only these may be taken from event",
    )
    op.create_table(
        "refused",
        sa.Column("number", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("received_us", sa.BigInteger(), nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number"),
        comment="messages that could not be read, as they came, with the reason",
    )
    op.create_table(
        "file_read",
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("sha256_head", sa.LargeBinary(), nullable=False),
        sa.Column("bytes_read", sa.BigInteger(), nullable=False),
        sa.Column("rows_read", sa.BigInteger(), nullable=False),
        sa.Column("changed_us", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("path"),
        comment="how far a file that grows has been taken in",
    )
    for statement in _guards(op.get_bind().dialect.name):
        op.execute(statement)


def downgrade() -> None:
    """Take all of it away again."""
    for table in ("file_read", "refused", "archive", "event", "chain"):
        op.drop_table(table)
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION event_is_kept()")


def _guards(dialect: str) -> tuple[str, ...]:
    """Rows are only ever added; what went out to an archive may be taken away."""
    gone = "(SELECT coalesce(max(upto_seq), 0) FROM archive WHERE line = OLD.line)"
    if dialect == "sqlite":
        return (
            "CREATE TRIGGER event_no_change BEFORE UPDATE ON event "
            "BEGIN SELECT RAISE(ABORT, 'a row of the ledger is never changed'); END",
            f"CREATE TRIGGER event_no_removal BEFORE DELETE ON event WHEN OLD.seq > {gone} "
            "BEGIN SELECT RAISE(ABORT, 'a row of the ledger is never removed'); END",
        )
    return (
        "CREATE FUNCTION event_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF TG_OP = 'DELETE' AND OLD.seq <= {gone} THEN RETURN OLD; END IF; "
        "RAISE EXCEPTION 'a row of the ledger is never changed or removed'; END $$",
        "CREATE TRIGGER event_is_kept BEFORE UPDATE OR DELETE ON event "
        "FOR EACH ROW EXECUTE FUNCTION event_is_kept()",
    )
