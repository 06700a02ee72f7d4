"""Create the tables of records and files, which only grow."""

import sqlalchemy as sa
from alembic import op

from farface.journal.append_only import guard

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Mark a file as a journal, create both tables and the triggers that keep them append-only."""
    dialect = op.get_bind().dialect.name
    if dialect == "sqlite":
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
    for statement in (*guard("record", dialect), *guard("file", dialect)):
        op.execute(statement)


def downgrade() -> None:
    """Refuse, for there is nothing before the first revision."""
    raise NotImplementedError("The first revision has no predecessor.")
