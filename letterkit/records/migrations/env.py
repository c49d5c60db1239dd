"""Runs the migrations on the connection that the caller opened, inside the caller's transaction."""

from __future__ import annotations

from alembic import context

from letterkit.records.tables import metadata

connection = context.config.attributes["connection"]
# Batch mode: SQLite cannot alter most of a table, so alembic copies it.
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True, transactional_ddl=False)
context.run_migrations()
