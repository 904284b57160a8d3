"""Schema migrations by alembic, run from the program itself: no ini file, no separate command."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

if TYPE_CHECKING:
    from alembic.config import Config

HERE = Path(__file__).parent


def config() -> Config:
    # Imported late: a start on the newest schema needs none of it, and it takes a quarter of a second.
    from alembic.config import Config

    settings = Config()
    settings.set_main_option("script_location", str(HERE))
    return settings


def upgrade(engine: sa.Engine, to: str = "head") -> None:
    """Bring the database behind ``engine`` to a revision."""
    if to == "head" and _stands_at(engine) == _newest():
        return
    from alembic import command

    settings = config()
    with engine.begin() as connection:
        settings.attributes["connection"] = connection
        command.upgrade(settings, to)


def _newest() -> str:
    """The newest revision; each file is named by its own."""
    return max(path.name[:4] for path in (HERE / "versions").glob("[0-9]*.py"))


def _stands_at(engine: sa.Engine) -> str | None:
    """The revision of the database; None where it has none yet."""
    with engine.connect() as connection:
        if not sa.inspect(connection).has_table("alembic_version"):
            return None
        return connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()
