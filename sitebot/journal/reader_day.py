"""Irons, samples and the day, read from the tables."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime

from sitebot.journal import tables as t
from sitebot.journal.asking import of_day, once
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
        rows = self._rows(self._select(t.samples, *of_day(t.samples.c.day, day)).order_by(t.samples.c.seq))
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
            )
            for r in rows
        ]

    @once
    def weather(self, day: str | None) -> Sequence[Weather]:
        c = t.weather.c
        rows = self._rows(self._select(t.weather, *of_day(c.day, day)).order_by(c.seq))
        return [
            Weather(by=r["person"], **{k: v for k, v in r.items() if k not in ("site", "seq", "person")}) for r in rows
        ]

    @once
    def iron_events(self, day: str | None) -> Sequence[IronEvent]:
        rows = self._rows(self._select(t.iron_events, *of_day(t.iron_events.c.day, day)).order_by(t.iron_events.c.seq))
        return [IronEvent(r["at"], r["day"], r["event"], r["iron"], r["temp_f"], r["temp_by"]) for r in rows]

    @once
    def irons(self) -> Sequence[IronState]:
        rows = self._rows(self._select(t.irons).order_by(t.irons.c.iron))
        return [IronState(r["iron"], bool(r["is_on"]), r["since"], r["temp_f"], r["read_at"]) for r in rows]

    @once
    def day_changes(self, day: str | None) -> Sequence[DayChange]:
        c = t.day_changes
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
            for r in self._rows(self._select(c, *of_day(c.c.date, day)).order_by(c.c.seq))
        ]

    @once
    def crew(self, day: str) -> tuple[str, ...] | None:
        found = self._rows(self._select(t.crews, t.crews.c.day == day))
        return tuple(json.loads(found[0]["people"])) if found else None

    @once
    def reminded(self, day: str) -> Sequence[Reminder]:
        rows = self._rows(self._select(t.reminded, t.reminded.c.day == day).order_by(t.reminded.c.seq))
        return [
            Reminder(r["what"], r["day"], r["step"], r["at"], tuple(json.loads(r["people"])), r["iron"]) for r in rows
        ]

    @once
    def acknowledgements(self, day: str | None) -> Sequence[tuple[str, datetime]]:
        c = t.acknowledgements
        return [(r["what"], r["at"]) for r in self._rows(self._select(c, *of_day(c.c.day, day)).order_by(c.c.seq))]
