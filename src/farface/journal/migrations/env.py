"""Run the migrations on the connection that `farface.journal.migrate` hands over, in its transaction."""

from alembic import context

from farface.journal.schema import Base

context.configure(connection=context.config.attributes["connection"], target_metadata=Base.metadata)
with context.begin_transaction():
    context.run_migrations()
