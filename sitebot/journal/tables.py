"""The tables. Every primary key begins with the site, so that sites can later be spread over several servers.

Kept for ever: ``entries``. Beside the chain, erasable: ``people``, ``addresses``. Derived from entries and rebuilt by
``sitebot check``: everything in ``PROJECTIONS``. The rest is the traffic (traffic.py).
"""

from __future__ import annotations

import sqlalchemy as sa

from sitebot.journal import derived
from sitebot.journal.columns import UtcTime, Words, metadata, site_key, utc_text
from sitebot.journal.derived import (
    acknowledgements,
    counts,
    crews,
    damages,
    day_changes,
    iron_events,
    irons,
    nicknames,
    places,
    pours,
    relayed,
    reminded,
    roster,
    samples,
    sites,
    splice_entries,
    splices,
    weather,
)
from sitebot.journal.derived_photos import photo_splices, photos
from sitebot.journal.traffic import channel_state, codes, inbox, leases, outbox, talks, wakes

__all__ = [
    "GUARDS_POSTGRES",
    "GUARDS_SQLITE",
    "PROJECTIONS",
    "UtcTime",
    "acknowledgements",
    "addresses",
    "channel_state",
    "codes",
    "counts",
    "crews",
    "damages",
    "day_changes",
    "entries",
    "heads",
    "inbox",
    "iron_events",
    "irons",
    "leases",
    "metadata",
    "nicknames",
    "outbox",
    "people",
    "photo_splices",
    "photos",
    "places",
    "pours",
    "relayed",
    "reminded",
    "roster",
    "samples",
    "sites",
    "splice_entries",
    "splices",
    "talks",
    "utc_text",
    "wakes",
    "weather",
]

PROJECTIONS = (*derived.PROJECTIONS, photos, photo_splices)

entries = sa.Table(
    "entries",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("kind", Words, nullable=False),
    #: Canonical JSON, byte for byte what was hashed.
    sa.Column("body", Words, nullable=False),
    sa.Column("person", Words, nullable=False),
    #: The inbox row it came from; 0: none.
    sa.Column("cause", sa.Integer, nullable=False),
    sa.Column("hash", Words, nullable=False),
    sa.Index("entries_cause", "site", "cause"),
)

#: How many entries there are and the last hash, signed with a key outside the database: shows a cut-off tail.
heads = sa.Table(
    "heads",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, nullable=False),
    sa.Column("hash", Words, nullable=False),
    sa.Column("signature", Words, nullable=False),
)

people = sa.Table(
    "people",
    metadata,
    site_key(),
    sa.Column("person", Words, primary_key=True),
    sa.Column("name", Words, nullable=False),
    #: JSON: role, language and addresses as the site file last gave them; "" where it does not list him.
    sa.Column("filed", Words, nullable=False),
)

addresses = sa.Table(
    "addresses",
    metadata,
    site_key(),
    sa.Column("address", Words, primary_key=True),
    sa.Column("person", Words, nullable=False),
    sa.Column("rank", sa.Integer, nullable=False),
    #: Told, but not answered yet: it counts for nothing until then, and not after this.
    sa.Column("until", UtcTime),
    sa.Index("addresses_address", "address"),
)

#: SQLite's refusal of any change to what is kept for ever.
GUARDS_SQLITE = tuple(
    f"CREATE TRIGGER entries_no_{verb.lower()} BEFORE {verb} ON entries "
    f"BEGIN SELECT RAISE(ABORT, 'entries only grow: write a new one'); END"
    for verb in ("UPDATE", "DELETE")
)
GUARDS_POSTGRES = (
    "CREATE FUNCTION entries_only_grow() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RAISE EXCEPTION 'entries only grow: write a new one'; END $$",
    "CREATE TRIGGER entries_no_change BEFORE UPDATE OR DELETE ON entries "
    "FOR EACH ROW EXECUTE FUNCTION entries_only_grow()",
    "CREATE TRIGGER entries_no_truncate BEFORE TRUNCATE ON entries EXECUTE FUNCTION entries_only_grow()",
)
