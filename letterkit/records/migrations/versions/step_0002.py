"""Letters in the making, which the pages kept in tables of their own before."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from letterkit.records.tables import Moment

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Makes the tables where the pages have not made them, in the same shape; what is written in them stays."""
    there = set(sa.inspect(op.get_bind()).get_table_names())
    if "work" not in there:
        op.create_table(
            "work",
            sa.Column("id", sa.String(length=32), nullable=False),
            sa.Column("version", sa.Integer(), nullable=False),
            sa.Column("at", Moment, nullable=False),
            sa.Column("actor", sa.String(length=200), nullable=False),
            sa.Column("by", sa.String(length=200), nullable=False),
            sa.Column("body", sa.LargeBinary(), nullable=False),
            sa.PrimaryKeyConstraint("id", name=op.f("pk_work")),
        )
    if "work_present" not in there:
        op.create_table(
            "work_present",
            sa.Column("work_id", sa.String(length=32), nullable=False),
            sa.Column("window", sa.String(length=32), nullable=False),
            sa.Column("by", sa.String(length=200), nullable=False),
            sa.Column("at", Moment, nullable=False),
            sa.PrimaryKeyConstraint("work_id", "window", name=op.f("pk_work_present")),
        )
