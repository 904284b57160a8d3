"""The rest of the machine's settings, for ``sitebot run`` and what goes with it: key, limits, metrics, log."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from sitebot.errors import DataError
from sitebot.journal import Journal, Limits
from sitebot.photos import Folder
from sitebot.settings import Settings

_DEFAULT = Limits()


class TakenIn(BaseModel):
    """How much is taken in before it is set aside unanswered."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    person_hour: int = Field(default=_DEFAULT.person_hour, ge=30)
    stranger_hour: int = Field(default=_DEFAULT.stranger_hour, ge=1)
    site_minute: int = Field(default=_DEFAULT.site_minute, ge=10)


class Machine(Settings):
    """Everything that one process of the assistant needs."""

    #: The key that signs the logs; by default beside a SQLite file. All workers of a database share one.
    key: Path | None = None
    #: The folder of photos; by default beside a SQLite file, or beside the key. All workers of a database share it.
    photos: Path | None = None
    #: Where /health and /metrics are served; port 0: nowhere.
    metrics_host: str = "127.0.0.1"
    metrics_port: int = Field(default=9464, ge=0, le=65535)
    limits: TakenIn = TakenIn()
    log_level: Literal["debug", "info", "warning", "error"] = "info"

    def journal(self) -> Journal:
        """The log that the settings name."""
        journal = Journal.open(self.database, self.key)
        journal.limits = Limits(**self.limits.model_dump())
        if self.photos:
            journal.photos = Folder(self.photos)
        return journal


def read_machine() -> Machine:
    """The settings; DataError names every wrong key and where it may come from."""
    try:
        return Machine()
    except ValidationError as error:
        lines = [
            f"settings: {'.'.join(map(str, e['loc']))}: {e['msg']}. Mend it in sitebot.toml." for e in error.errors()
        ]
        raise DataError("\n".join(lines)) from None
    except ValueError as error:
        raise DataError(f"settings: {error}. Mend it in sitebot.toml.") from None
