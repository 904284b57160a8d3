"""The errors of sitebot, by whose fault it is.

    SitebotError
    +-- DataError            a file of ours or of the site is wrong: file, place in it, what to do
    +-- ChannelError         the world between us and a phone
        +-- Unreachable      try again later
        +-- Refused          the other side will not take it; trying again is no use
        +-- LoggedOut        our account there is gone; somebody has to log in again

What people write is never an error: it is a value (acts.Unclear, an Answer that refuses).
"""

from __future__ import annotations


class SitebotError(Exception):
    """Anything the program itself has to say has gone wrong."""


class DataError(SitebotError):
    """A data file is wrong. The text names file, key and remedy, one fault a line."""


class ChannelError(SitebotError):
    """A message could not be brought or sent."""


class Unreachable(ChannelError):
    """Nobody answered; the same may go through later."""


class Refused(ChannelError):
    """It was refused for good."""


class LoggedOut(ChannelError):
    """The account's token or password no longer holds."""
