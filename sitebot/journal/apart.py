"""Names and addresses, beside the chain: kept, changed, and erased so that no text of ours names the person any more.

The entries name people by id and stay as they are. What an erasure cannot reach stands in DEVELOPERS.md, Erasing.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Iterable

import sqlalchemy as sa

from sitebot.channels.sms import forgetting
from sitebot.entries import (
    AddressAsked,
    AddressConfirmed,
    AddressRefused,
    Entry,
    PersonErased,
    PersonJoined,
    PersonLeft,
)
from sitebot.journal import inbox
from sitebot.journal import tables as t
from sitebot.journal.projections.row import when


def keep(tx: sa.Connection, site: str, entry: Entry) -> None:
    """What an entry carries apart from the chain."""
    match entry:
        case PersonJoined():
            _joined(tx, site, entry)
        case PersonLeft(by_file=True):
            same = sa.and_(t.people.c.site == site, t.people.c.person == entry.person)
            tx.execute(t.people.update().where(same).values(filed=""))
        case AddressAsked(person=person, address=address):
            _drop(tx, site, t.addresses.c.person == person, t.addresses.c.until.is_not(None))
            _drop(tx, site, t.addresses.c.address == address, t.addresses.c.until.is_not(None))
            values = {"address": address, "person": person, "rank": _kind(address), "until": when(entry.until)}
            tx.execute(t.addresses.insert().values(site=site, **values))
        case AddressConfirmed(person=person, address=address):
            _drop(tx, site, t.addresses.c.person == person, t.addresses.c.rank == _kind(address), but=address)
            same = sa.and_(t.addresses.c.site == site, t.addresses.c.address == address)
            tx.execute(t.addresses.update().where(same).values(until=None))
        case AddressRefused(address=address):
            _drop(tx, site, t.addresses.c.address == address, t.addresses.c.until.is_not(None))
        case PersonErased(person=person):
            _erase(tx, site, person)


def _kind(address: str) -> int:
    """Matrix names before numbers: a person has at most one of each that counts."""
    return 0 if address.startswith("@") else 1


def _drop(tx: sa.Connection, site: str, *where: sa.ColumnElement[bool], but: str = "") -> None:
    tx.execute(t.addresses.delete().where(t.addresses.c.site == site, t.addresses.c.address != but, *where))


def _joined(tx: sa.Connection, site: str, entry: PersonJoined) -> None:
    values = {"name": entry.name}
    if entry.filed is not None:
        values["filed"] = json.dumps(dict(entry.filed))
    same = sa.and_(t.people.c.site == site, t.people.c.person == entry.person)
    if not tx.execute(t.people.update().where(same).values(**values)).rowcount:
        tx.execute(t.people.insert().values(**{"site": site, "person": entry.person, "filed": "", **values}))
    _drop(tx, site, t.addresses.c.person == entry.person, t.addresses.c.until.is_(None))
    _drop(tx, site, t.addresses.c.address.in_(entry.addresses))
    for address in entry.addresses:
        tx.execute(
            t.addresses.insert().values(
                site=site, address=address, person=entry.person, rank=_kind(address), until=None
            )
        )


# --- erasing --------------------------------------------------------------------------------------------------------


def _erase(tx: sa.Connection, site: str, person: str) -> None:
    """Take name and addresses out of every table but the entries; his own texts go whole."""
    if tx.dialect.name == "sqlite":
        tx.exec_driver_sql("PRAGMA secure_delete=ON")  # what is deleted is overwritten, not only forgotten
    p, a = t.people, t.addresses
    names = tx.execute(sa.select(p.c.name).where(p.c.site == site, p.c.person == person)).scalars().all()
    addresses = tx.execute(sa.select(a.c.address).where(a.c.site == site, a.c.person == person)).scalars().all()
    gone = f"erased-{person}"
    for address in addresses:
        _own_texts(tx, site, address, gone)
    tx.execute(t.talks.delete().where(t.talks.c.site == site, t.talks.c.who.in_([person, *addresses])))
    tx.execute(t.codes.delete().where(t.codes.c.site == site, t.codes.c.person == person))
    tx.execute(p.delete().where(p.c.site == site, p.c.person == person))
    tx.execute(a.delete().where(a.c.site == site, a.c.person == person))
    _forgotten_by_sms(tx, [a for a in addresses if not a.startswith("@")])
    without = _without([*names], [*addresses], person)
    for table, columns in TEXTS:
        _scrub(tx, site, table, columns, without)


def _forgotten_by_sms(tx: sa.Connection, numbers: list[str]) -> None:
    """What the SMS channel keeps of these numbers, whichever site it is at home on; one that runs is told to forget."""
    c = t.channel_state
    rows = tx.execute(sa.select(c.c.site, c.c.key, c.c.value).where(c.c.channel == "sms")).all()
    for site in {row.site for row in rows}:
        kept = {row.key: row.value for row in rows if row.site == site}
        inbox.keep_state(tx, site, "sms", forgetting.ask(kept, numbers))


#: Every column outside the entries that may hold what people wrote or an address.
TEXTS: tuple[tuple[sa.Table, tuple[str, ...]], ...] = (
    (t.inbox, ("text", "room", "external_id")),
    (t.outbox, ("text", "picture", "room")),
    (t.talks, ("body",)),
    (t.codes, ("body",)),
    (t.channel_state, ("key", "value")),
)


def _own_texts(tx: sa.Connection, site: str, address: str, gone: str) -> None:
    i, o = t.inbox, t.outbox
    sent = sa.and_(i.c.site == site, i.c.sender == address)
    tx.execute(i.update().where(sent).values(sender=gone, text=""))
    waiting = sa.and_(o.c.site == site, o.c.address == address, o.c.state == "queued")
    tx.execute(o.update().where(waiting).values(state="failed"))
    tx.execute(o.update().where(o.c.site == site, o.c.address == address).values(address=gone, text="", picture=""))


def _without(names: Iterable[str], addresses: Iterable[str], person: str) -> Callable[[str], str]:
    """The text with the name, a part of it, or any of the addresses as people write them, replaced by the id."""
    words = {form for name in names for word in (name, *name.split()) if len(word) > 2 for form in _forms(word)}
    patterns = [rf"(?<!\w){re.escape(word)}(?!\w)" for word in sorted(words, key=len, reverse=True)]
    patterns += [_written(address) for address in addresses]
    found = re.compile("|".join(patterns) or r"(?!)", re.IGNORECASE)
    return lambda text: found.sub(person, text)


def _written(address: str) -> str:
    """An address in a text: a number with or without its country and area, with what people put between digits."""
    digits = re.sub(r"\D", "", address)
    if address.startswith("@") or len(digits) < 7:
        return re.escape(address)
    between = r"[\s().-]*"
    return rf"(?<!\d)(?:\+?[\d(][\d\s().-]{{0,8}})?{between.join(digits[-7:])}(?!\d)"


def _forms(word: str) -> set[str]:
    """As it is, without its accents, and as JSON writes it."""
    plain = "".join(c for c in unicodedata.normalize("NFKD", word) if not unicodedata.combining(c))
    return {word, plain, json.dumps(word)[1:-1]}


def _scrub(tx: sa.Connection, site: str, table: sa.Table, names: Iterable[str], without: Callable[[str], str]) -> None:
    """Read whole: no database folds case and accents as people do, and nobody is erased twice a day."""
    keys = [c for c in table.primary_key if c.name != "site"]
    columns = [c for c in table.c if c.name in {*names, *(k.name for k in keys)}]
    for row in tx.execute(sa.select(*columns).where(table.c.site == site)).mappings().all():
        changed = {name: new for name in names if (new := without(row[name])) != row[name]}
        if changed:
            same = sa.and_(table.c.site == site, *(k == row[k.name] for k in keys))
            tx.execute(table.update().where(same).values(**changed))
