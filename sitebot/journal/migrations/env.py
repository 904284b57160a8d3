"""Alembic's entry: the connection is handed in by the program."""

from alembic import context

from sitebot.journal.tables import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, transactional_ddl=True)
context.run_migrations()
