"""The rules of the trade as data: files of rules/ read into models, measures judged against limits, questions searched.

No rule stands in Python, and nothing here knows a site's record or how a reply is worded.
"""

from __future__ import annotations

from pathlib import Path


def rules_folder() -> Path:
    """The folder of rules and words: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "rules"
    return inside if inside.is_dir() else package.parent / "rules"
