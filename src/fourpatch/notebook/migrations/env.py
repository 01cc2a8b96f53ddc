"""What alembic runs to bring a notebook to a newer format: in a transaction that is given."""

from alembic import context

from fourpatch.notebook.tables import Table

context.configure(connection=context.config.attributes["connection"], target_metadata=Table.metadata)
context.run_migrations()
