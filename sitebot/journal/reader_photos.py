"""Photos, read from the tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sitebot.journal import tables as t
from sitebot.journal.asking import Asking, once
from sitebot.journal.prepared import Found
from sitebot.record import KeptPhoto


class Photos(Asking):
    """Questions about photos."""

    @once
    def photos(self, *, day: str | None = None) -> Sequence[KeptPhoto]:
        shows: dict[str, list[int]] = {}
        for row in self._of(t.photo_splices, "number"):
            shows.setdefault(row["sha256"], []).append(row["number"])
        rows = self._of(t.photos, "seq", day=day)
        return [KeptPhoto(by=r["person"], numbers=tuple(shows.get(r["sha256"], ())), **_plain(r)) for r in rows]


def _plain(row: Found) -> dict[str, Any]:
    return {k: v for k, v in row.items() if k not in ("site", "seq", "person")}
