"""The log as an answer may ask it, read from the journal's tables inside one transaction."""

from __future__ import annotations

from sitebot.journal.reader_day import Days
from sitebot.journal.reader_photos import Photos
from sitebot.journal.reader_splices import Splices
from sitebot.record import Log


class SqlLog(Splices, Photos, Days, Log):
    """Answers from the tables of one site. Good for one transaction."""
