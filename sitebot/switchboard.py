"""Opens the channels that the settings name, and tells them whom the roster knows. Nothing is sent or answered here."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from sitebot.channels.protocol import Channel
from sitebot.errors import DataError
from sitebot.held import Opener
from sitebot.journal import Journal
from sitebot.machine import Machine

if TYPE_CHECKING:
    from sitebot.channels.sms.hearing import Contact

M = TypeVar("M", bound=BaseModel)


class MatrixSettings(BaseModel):
    """``[matrix]``: where ``sitebot matrix login`` put the account, and what crews call the assistant."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    store: Path
    names: tuple[str, ...] = ()


def openers(machine: Machine, journal: Journal) -> dict[str, Opener]:
    """How each channel of the settings is opened; a wrong setting is said at once, not when the lease comes."""
    found: dict[str, Opener] = {}
    if machine.matrix is not None:
        matrix = _settings(MatrixSettings, "matrix", machine.matrix)
        found["matrix"] = partial(_open_matrix, matrix, journal)
    if machine.sms is not None:
        from sitebot.channels.sms.settings import SmsSettings

        sms = _settings(SmsSettings, "sms", machine.sms)
        found["sms"] = partial(_open_sms, sms, journal, machine.site)
    return found


def matrix_store(machine: Machine) -> Path | None:
    """The folder of the Matrix account, where the settings name one."""
    return None if machine.matrix is None else _settings(MatrixSettings, "matrix", machine.matrix).store


def _settings(model: type[M], name: str, values: Mapping[str, Any]) -> M:
    try:
        return model.model_validate(values)
    except ValidationError as error:
        # Without the values: they may be secrets.
        faults = [f"settings: {name}.{'.'.join(map(str, e['loc']))}: {e['msg']}" for e in error.errors()]
        raise DataError("\n".join(f"{f}. Mend it in sitebot.toml." for f in faults)) from None


def _open_matrix(settings: MatrixSettings, journal: Journal, state: Mapping[str, str]) -> Channel:
    from sitebot.channels.matrix import open_channel

    return open_channel(settings.store, state, lambda who: bool(journal.sites_of(who)), names=settings.names)


def _open_sms(settings: Any, journal: Journal, home: str, state: Mapping[str, str]) -> Channel:
    from sitebot.channels.sms.channel import SmsChannel
    from sitebot.channels.sms.hearing import Here

    with journal.log(home) as log:
        site = log.site()
    here = Here(site.name, site.tz, site.region, site.language, site.emergency_number, site.address)
    return SmsChannel(settings, state, here, partial(contact_of, journal), erased=partial(_erased, journal, home))


def _erased(journal: Journal, home: str) -> list[str]:
    from sitebot.channels.sms.forgetting import asked

    return asked(journal.channel_state(home, "sms"))


def contact_of(journal: Journal, number: str) -> Contact | None:
    """What the roster says of a number."""
    from sitebot.channels.sms.hearing import Contact

    for site in journal.sites_of(number):
        with journal.log(site) as log:
            person = next((p for p in log.people() if number in p.addresses), None)
            if person:
                return Contact(person.language, person.id in log.stopped())
    return None
