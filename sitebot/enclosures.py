"""The picture or file that goes with a message, made from its descriptor when a channel that carries it sends it.

A descriptor is what an answer named (``Answer.picture``), kept with the outbox row; SMS never asks for it.
"""

from __future__ import annotations

import json
from datetime import datetime

import structlog

from sitebot import drawings
from sitebot.errors import DataError
from sitebot.journal import Journal
from sitebot.message import Language, Media
from sitebot.reports.attachment import attachment
from sitebot.reports.opened import read_from

log = structlog.get_logger(__name__)


def enclosure(journal: Journal, site: str, descriptor: str, now: datetime) -> tuple[Media, ...]:
    """The media of an outbox row; none where the row names none or it cannot be made (the text goes all the same)."""
    if not descriptor:
        return ()
    wanted = json.loads(descriptor)
    language: Language = wanted.get("language", "en")
    try:
        if "drawing" in wanted:
            return (Media("cut.png", "image/png", drawings.draw(wanted, language).png),)
        with read_from(journal, site, now) as (desk, head):
            return (attachment(wanted, desk, head, language, journal.photos),)
    except (DataError, ImportError, ValueError, KeyError) as error:
        log.warning("no enclosure", site=site, reason=str(error))
        return ()
