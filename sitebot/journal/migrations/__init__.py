"""Schema migrations by alembic, run from the program itself: no ini file, no separate command."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config


def config() -> Config:
    settings = Config()
    settings.set_main_option("script_location", str(Path(__file__).parent))
    return settings


def upgrade(engine: sa.Engine, to: str = "head") -> None:
    """Bring the database behind ``engine`` to a revision."""
    settings = config()
    with engine.begin() as connection:
        settings.attributes["connection"] = connection
        command.upgrade(settings, to)
