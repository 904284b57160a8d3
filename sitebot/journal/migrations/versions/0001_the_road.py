"""The road: entries, their projections, inbox, outbox.

Until the first release this revision follows the tables; from then on each change is a revision of its own.
"""

from alembic import op

from sitebot.journal.tables import GUARDS_POSTGRES, GUARDS_SQLITE, metadata

revision = "0001"
down_revision = None


def upgrade() -> None:
    bind = op.get_bind()
    metadata.create_all(bind)
    for statement in GUARDS_POSTGRES if bind.dialect.name == "postgresql" else GUARDS_SQLITE:
        op.execute(statement)
