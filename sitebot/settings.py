"""Settings of the machine: database, channels, secrets; from the environment (SITEBOT_...) and one TOML file.

What belongs to a site (people, shift, limits) stands in the site file, not here.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from pydantic_settings import BaseSettings, PydanticBaseSettingsSource, SettingsConfigDict, TomlConfigSettingsSource


class Settings(BaseSettings):
    """Everything ``sitebot run`` needs; the environment wins over the file."""

    model_config = SettingsConfigDict(env_prefix="SITEBOT_", env_nested_delimiter="__", extra="forbid")

    #: ``sqlite:///sitebot.db`` or ``postgresql+psycopg://user@host/name``.
    database: str = "sqlite:///sitebot.db"
    #: The site strangers and unknown rooms belong to; every other is found by the sender's address.
    site: str = "site"
    #: Settings of the channels, handed to them as they are; a channel without settings is not started.
    matrix: dict[str, Any] | None = None
    sms: dict[str, Any] | None = None

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,
        dotenv_settings: PydanticBaseSettingsSource,
        file_secret_settings: PydanticBaseSettingsSource,
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        path = os.environ.get("SITEBOT_SETTINGS", "sitebot.toml")
        return init_settings, env_settings, TomlConfigSettingsSource(settings_cls, toml_file=Path(path))
