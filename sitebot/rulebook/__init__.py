"""The rules of the trade as data: files of rules/ read into models, measures judged against limits, questions searched.

No rule stands in Python, and nothing here knows a site's record or how a reply is worded.
"""

from __future__ import annotations

from sitebot.rulebook.book import Rulebook, check
from sitebot.rulebook.folder import rules_folder
from sitebot.rulebook.judge import Finding, Papers, Verdict
from sitebot.rulebook.model import Rule

__all__ = ["Finding", "Papers", "Rule", "Rulebook", "Verdict", "check", "rules_folder"]
