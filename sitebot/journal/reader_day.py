"""Irons, samples and the day, read from the tables."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime

from sitebot.journal import tables as t
from sitebot.journal.asking import once
from sitebot.journal.reader_people import People
from sitebot.record import (
    DayChange,
    IronEvent,
    IronState,
    Reminder,
    Sample,
    Weather,
)


class Days(People):
    """Questions about the day."""

    @once
    def samples(self, day: str | None) -> Sequence[Sample]:
        rows = self._of(t.samples, "seq", day=day)
        return [
            Sample(
                at=r["at"],
                day=r["day"],
                verdict=r["verdict"],
                iron=r["iron"],
                defect=r["defect"],
                by=r["person"],
                welders=tuple(json.loads(r["welders"])),
                profile=r["profile"],
                witnessed=bool(r["witnessed"]),
                witness=tuple(json.loads(r["witness"])),
            )
            for r in rows
        ]

    @once
    def weather(self, day: str | None) -> Sequence[Weather]:
        rows = self._of(t.weather, "seq", day=day)
        return [
            Weather(by=r["person"], **{k: v for k, v in r.items() if k not in ("site", "seq", "person")}) for r in rows
        ]

    @once
    def iron_events(self, day: str | None) -> Sequence[IronEvent]:
        rows = self._of(t.iron_events, "seq", day=day)
        return [IronEvent(r["at"], r["day"], r["event"], r["iron"], r["temp_f"], r["temp_by"]) for r in rows]

    @once
    def irons(self) -> Sequence[IronState]:
        rows = self._of(t.irons, "iron")
        return [IronState(r["iron"], bool(r["is_on"]), r["since"], r["temp_f"], r["read_at"]) for r in rows]

    @once
    def day_changes(self, day: str | None) -> Sequence[DayChange]:
        return [
            DayChange(
                at=r["at"],
                date=r["date"],
                start=r["start"],
                end=r["end"],
                no_work=r["no_work"],
                snooze_min=r["snooze_min"],
                snooze_until=r["snooze_until"],
                remind_at=r["remind_at"],
                what=self.named(r["what"]) if r["what"] else r["what"],
                every=r["every"],
                clock=r["clock"],
                quiet=bool(r["quiet"]),
                who=tuple(json.loads(r["who"])),
                by=r["person"],
            )
            for r in self._of(t.day_changes, "seq", date=day)
        ]

    @once
    def crew(self, day: str) -> tuple[str, ...] | None:
        found = self._of(t.crews, day=day)
        return tuple(json.loads(found[0]["people"])) if found else None

    @once
    def reminded(self, day: str) -> Sequence[Reminder]:
        rows = self._of(t.reminded, "seq", day=day)
        return [
            Reminder(r["what"], r["day"], r["step"], r["at"], tuple(json.loads(r["people"])), r["iron"]) for r in rows
        ]

    @once
    def acknowledgements(self, day: str | None) -> Sequence[tuple[str, datetime]]:
        return [(r["what"], r["at"]) for r in self._of(t.acknowledgements, "seq", day=day)]
