"""People, their sessions, machines' tokens, and tries to sign in."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the four tables."""
    op.create_table(
        "person",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
        sa.Column("changed_us", sa.BigInteger(), nullable=False),
        sa.Column("ended_us", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("key"),
        comment="who may sign in; the key is the name without regard to case",
    )
    op.create_table(
        "session",
        sa.Column("token_hash", sa.LargeBinary(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
        sa.Column("seen_us", sa.BigInteger(), nullable=False),
        sa.Column("ends_us", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["person"], ["person.key"], name="session_of_person"),
        sa.PrimaryKeyConstraint("token_hash"),
        comment="who is signed in; a session that has ended has no row",
    )
    op.create_index("session_by_person", "session", ["person"])
    op.create_table(
        "api_token",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("token_hash", sa.LargeBinary(), nullable=False),
        sa.Column("scopes", sa.Text(), nullable=False),
        sa.Column("line", sa.Text(), nullable=False),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("ended_us", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("name"),
        sa.UniqueConstraint("token_hash"),
        comment="tokens of machines; scopes parted by blanks, an empty line means any",
    )
    op.create_table(
        "sign_in_try",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("failed", sa.Integer(), nullable=False),
        sa.Column("last_us", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("key"),
        comment="failed tries to sign in, by name, by address and by both; what slows guessing",
    )


def downgrade() -> None:
    """Take them away again, and with them everybody's leave to sign in."""
    for table in ("sign_in_try", "api_token", "session", "person"):
        op.drop_table(table)
