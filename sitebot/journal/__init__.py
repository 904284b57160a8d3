"""The journal: entries in a hash chain, the tables derived from them, inbox and outbox. The only user of SQLAlchemy."""

from sitebot.journal.engine import Damaged, DatabaseDown
from sitebot.journal.inbox import Limits
from sitebot.journal.store import Journal, Load, Turn

__all__ = ["Damaged", "DatabaseDown", "Journal", "Limits", "Load", "Turn"]
