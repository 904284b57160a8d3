"""Where the rules lie. Nothing is read here."""

from __future__ import annotations

from pathlib import Path


def rules_folder() -> Path:
    """The folder of rules and words: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "rules"
    return inside if inside.is_dir() else package.parent / "rules"
