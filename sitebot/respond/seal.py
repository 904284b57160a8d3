"""The seal of the log: how many entries, and the hash of the last. Its holder can prove that nothing was rewritten."""

from __future__ import annotations

from sitebot.message import Say
from sitebot.record import Log
from sitebot.respond.desk import Answer, Desk

#: Hex digits of the hash in a text: 96 bits, more than anybody can search for.
LENGTH = 24


def seal_of(log: Log) -> str:
    """As it is sent: the count, a dash, the beginning of the hash."""
    count, digest = log.head()
    return f"{count}-{digest[:LENGTH]}"


def line(log: Log) -> Say:
    return Say("seal.line", {"seal": seal_of(log)})


def answer(desk: Desk) -> Answer:
    """The seal as of now, and what it is for."""
    return Answer((line(desk.log), Say("seal.keep")))
