"""Race meetings and test days: documents of one more kind, found by it."""

from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Let documents be found by their kind; older versions, which do not know meetings, then stay away."""
    op.create_index("ix_document_kind", "document", ["kind"])
