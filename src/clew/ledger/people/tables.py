"""The tables of people, their sessions, machines' tokens and tries to sign in.

What is secret is never in them: of a password its Argon2id hash, of a session and a token the
SHA-256 of 256 random bits.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, Column, ForeignKey, Index, Integer, LargeBinary, Table, Text

from clew.ledger.store.schema import METADATA

PERSON = Table(
    "person",
    METADATA,
    Column("key", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("password_hash", Text, nullable=False),
    Column("made_us", BigInteger, nullable=False),
    Column("changed_us", BigInteger, nullable=False),
    Column("ended_us", BigInteger),
    comment="who may sign in; the key is the name without regard to case",
)

SESSION = Table(
    "session",
    METADATA,
    Column("token_hash", LargeBinary, primary_key=True),
    Column("person", Text, ForeignKey("person.key", name="session_of_person"), nullable=False),
    Column("made_us", BigInteger, nullable=False),
    Column("seen_us", BigInteger, nullable=False),
    Column("ends_us", BigInteger, nullable=False),
    comment="who is signed in; a session that has ended has no row",
)
Index("session_by_person", SESSION.c.person)

API_TOKEN = Table(
    "api_token",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("token_hash", LargeBinary, nullable=False, unique=True),
    Column("scopes", Text, nullable=False),
    Column("line", Text, nullable=False),
    Column("made_us", BigInteger, nullable=False),
    Column("made_by", Text, nullable=False),
    Column("ended_us", BigInteger),
    comment="tokens of machines; scopes parted by blanks, an empty line means any",
)

SIGN_IN_TRY = Table(
    "sign_in_try",
    METADATA,
    Column("key", Text, primary_key=True),
    Column("failed", Integer, nullable=False),
    Column("last_us", BigInteger, nullable=False),
    comment="failed tries to sign in, by name, by address and by both; what slows guessing",
)
