"""Sending what is queued. A row leaves after its commit, and its key with it, so that a repeat is the same message."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta

import structlog

from sitebot.channels.protocol import Channel
from sitebot.enclosures import enclosure
from sitebot.errors import ChannelError, LoggedOut, Refused
from sitebot.journal import Journal

log = structlog.get_logger(__name__)

#: Waits between tries [s]; the last one again and again until it is given up.
WAITS = (2, 5, 15, 60, 300, 900)


async def send_due(journal: Journal, channels: Mapping[str, Channel], now: datetime) -> int:
    """Send everything that is due, in order; how many went out. A person whose message fails waits for it."""
    sent, stuck = 0, set[tuple[str, str]]()
    for site, row, out, picture in journal.queued(now):
        lane = (site, out.room or out.address)
        channel = channels.get(out.channel)
        if channel is None or lane in stuck:
            continue
        try:
            if getattr(channel, "carries_pictures", False):
                out = replace(out, media=enclosure(journal, site, picture, now))
            journal.sent(site, row, await channel.send(out))
            sent += 1
        except LoggedOut:
            raise
        except Refused as error:
            log.warning("refused", channel=out.channel, key=out.key, reason=str(error))
            journal.not_sent(site, row, None)
        except ChannelError as error:
            if until := getattr(error, "until", None):
                # Held back on purpose (quiet hours, pace): it waits for its time and stops nothing behind it.
                journal.not_sent(site, row, until)
                continue
            stuck.add(lane)
            log.info("not sent yet", channel=out.channel, key=out.key, reason=str(error))
            journal.not_sent(site, row, now + timedelta(seconds=_wait(journal.tries(site, row))))
    return sent


def _wait(tries: int) -> int:
    return WAITS[min(tries, len(WAITS) - 1)]
