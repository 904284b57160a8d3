"""Photos, read from the tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.journal.asking import Asking, of_day, once
from sitebot.record import KeptPhoto


class Photos(Asking):
    """Questions about photos."""

    @once
    def photos(self, *, day: str | None = None) -> Sequence[KeptPhoto]:
        p, s = t.photos.c, t.photo_splices.c
        shows: dict[str, list[int]] = {}
        for row in self._rows(self._select(t.photo_splices).order_by(s.number)):
            shows.setdefault(row["sha256"], []).append(row["number"])
        rows = self._rows(self._select(t.photos, *of_day(p.day, day)).order_by(p.seq))
        return [KeptPhoto(by=r["person"], numbers=tuple(shows.get(r["sha256"], ())), **_plain(r)) for r in rows]


def _plain(row: sa.RowMapping) -> dict[str, Any]:
    return {k: v for k, v in row.items() if k not in ("site", "seq", "person")}
