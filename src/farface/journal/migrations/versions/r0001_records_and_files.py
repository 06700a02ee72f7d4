"""Create the tables of records and files, which only grow."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# The last trigger of each table stops INSERT OR REPLACE, which deletes without asking the second.
_ONLY_GROWS = """
CREATE TRIGGER {table}_never_edited BEFORE UPDATE ON "{table}"
BEGIN SELECT RAISE(ABORT, 'the journal is never edited: add a {table} instead'); END;

CREATE TRIGGER {table}_never_removed BEFORE DELETE ON "{table}"
BEGIN SELECT RAISE(ABORT, 'the journal is never edited: a {table} is never removed'); END;

CREATE TRIGGER {table}_never_replaced BEFORE INSERT ON "{table}"
WHEN EXISTS (SELECT 1 FROM "{table}" WHERE {same})
BEGIN SELECT RAISE(ABORT, 'the journal is never edited: a {table} is never replaced'); END;
"""


def upgrade() -> None:
    """Mark the file as a journal, create both tables and the triggers that keep them append-only."""
    op.execute(f"PRAGMA application_id = {0x66617266}")
    op.create_table(
        "record",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("number", sa.Integer(), nullable=False, unique=True),
        sa.Column("kind", sa.String(), nullable=False, index=True),
        sa.Column("at_utc", sa.String(), nullable=False),
        sa.Column("program_version", sa.String(), nullable=False),
        sa.Column("seed", sa.BigInteger(), nullable=True),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("inputs", sa.JSON(), nullable=False),
        sa.Column("supersedes", sa.String(), sa.ForeignKey("record.id"), nullable=True, unique=True),
        sa.Column("reason", sa.String(), nullable=False),
    )
    op.create_table(
        "file",
        sa.Column("sha256", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("bytes", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("at_utc", sa.String(), nullable=False),
    )
    _keep("record", "id = NEW.id OR number = NEW.number OR supersedes = NEW.supersedes")
    _keep("file", "sha256 = NEW.sha256")


def downgrade() -> None:
    """Refuse, for there is nothing before the first revision."""
    raise NotImplementedError("The first revision has no predecessor.")


def _keep(table: str, same: str) -> None:
    for trigger in _ONLY_GROWS.format(table=table, same=same).strip().split("\n\n"):
        op.execute(trigger)
