"""Let a record be withdrawn, and give every record the hash of what it says."""

import sqlalchemy as sa
from alembic import op

from farface.journal.append_only import guard, unguard
from farface.journal.digest import SAID, record_sha256

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_ROWS_AT_ONCE = 500


def upgrade() -> None:
    """Add both columns and an index by kind; lift the guard of records while the hashes are filled in."""
    dialect = op.get_bind().dialect.name
    for statement in unguard("record", dialect):
        op.execute(statement)
    op.add_column("record", sa.Column("withdrawn", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("record", sa.Column("sha256", sa.String(), nullable=False, server_default=""))
    op.create_index("ix_record_kind_number", "record", ["kind", "number"])
    _fill_in()
    for statement in guard("record", dialect):
        op.execute(statement)


def downgrade() -> None:
    """Refuse, for a withdrawal cannot be told in the first revision."""
    raise NotImplementedError("The copy that was kept before the upgrade is the way back.")


def _fill_in() -> None:
    connection = op.get_bind()
    columns = [
        sa.Column(name, sa.JSON() if name in ("body", "inputs") else None) for name in (*SAID, "number")
    ]
    record = sa.Table("record", sa.MetaData(), *columns, sa.Column("sha256", sa.String()))
    number = 0
    while True:
        page = (
            sa.select(record).where(record.c.number > number).order_by(record.c.number).limit(_ROWS_AT_ONCE)
        )
        rows = connection.execute(page).mappings().all()
        if not rows:
            return
        for row in rows:
            said = {**row, "withdrawn": False}
            fill = record.update().where(record.c.id == row["id"])
            connection.execute(fill.values(sha256=record_sha256(said)))
        number = rows[-1]["number"]
