"""The journal: entries in a hash chain, the tables derived from them, inbox and outbox. The only user of SQLAlchemy."""

from sitebot.journal.store import Journal, Turn

__all__ = ["Journal", "Turn"]
