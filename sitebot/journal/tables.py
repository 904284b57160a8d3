"""The tables. Every primary key begins with the site, so that sites can later be spread over several servers.

Kept for ever: ``entries``. Beside the chain, erasable: ``people``, ``addresses``. Derived from entries and rebuilt by
``sitebot check``: everything in ``PROJECTIONS``. The rest is the traffic: inbox, outbox, talks, wakes, channel state.
"""

from __future__ import annotations

from datetime import UTC, datetime

import sqlalchemy as sa

metadata = sa.MetaData()


def utc_text(value: datetime) -> str:
    """A time as it is stored; a naive one is refused at the door."""
    if value.tzinfo is None:
        raise ValueError("a time without a zone")
    return value.astimezone(UTC).isoformat(timespec="microseconds")


class UtcTime(sa.types.TypeDecorator[datetime]):
    """Aware datetimes as ISO text in UTC, to the microsecond, so that text order is time order on every database."""

    impl = sa.String(32)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> str | None:
        return None if value is None else utc_text(value)

    def process_result_value(self, value: str | None, dialect: sa.Dialect) -> datetime | None:
        return None if value is None else datetime.fromisoformat(value)


def _site() -> sa.Column[str]:
    return sa.Column("site", sa.String(60), primary_key=True)


entries = sa.Table(
    "entries",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("kind", sa.String(40), nullable=False),
    #: Canonical JSON, byte for byte what was hashed.
    sa.Column("body", sa.Text, nullable=False),
    sa.Column("person", sa.String(20), nullable=False),
    #: The inbox row it came from; 0: none.
    sa.Column("cause", sa.Integer, nullable=False),
    sa.Column("hash", sa.String(64), nullable=False),
)

#: How many entries there are and the last hash, signed with a key outside the database: shows a cut-off tail.
heads = sa.Table(
    "heads",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, nullable=False),
    sa.Column("hash", sa.String(64), nullable=False),
    sa.Column("signature", sa.String(64), nullable=False),
)

people = sa.Table(
    "people",
    metadata,
    _site(),
    sa.Column("person", sa.String(20), primary_key=True),
    sa.Column("name", sa.Text, nullable=False),
)

addresses = sa.Table(
    "addresses",
    metadata,
    _site(),
    sa.Column("address", sa.String(255), primary_key=True),
    sa.Column("person", sa.String(20), nullable=False),
    sa.Column("rank", sa.Integer, nullable=False),
    sa.Index("addresses_address", "address"),
)

# --- projections ----------------------------------------------------------------------------------------------------

sites = sa.Table(
    "sites",
    metadata,
    _site(),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("settings", sa.Text, nullable=False),
)

roster = sa.Table(
    "roster",
    metadata,
    _site(),
    sa.Column("person", sa.String(20), primary_key=True),
    sa.Column("role", sa.String(20), nullable=False),
    sa.Column("language", sa.String(5), nullable=False),
    sa.Column("active", sa.Boolean, nullable=False),
    sa.Column("stopped", sa.Boolean, nullable=False),
)

places = sa.Table(
    "places",
    metadata,
    _site(),
    sa.Column("place", sa.String(80), primary_key=True),
    sa.Column("rank", sa.Integer, nullable=False),
    sa.Column("kinds", sa.Text, nullable=False),
)

nicknames = sa.Table(
    "nicknames",
    metadata,
    _site(),
    sa.Column("said", sa.String(80), primary_key=True),
    sa.Column("meant", sa.String(80), nullable=False),
)

splices = sa.Table(
    "splices",
    metadata,
    _site(),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("place", sa.String(80)),
    sa.Column("kind", sa.String(20), nullable=False),
    sa.Column("welders", sa.Text, nullable=False),
    sa.Column("iron", sa.String(20)),
    sa.Column("temp_f", sa.Float),
    sa.Column("profile", sa.String(80)),
    sa.Column("lot", sa.String(80)),
    sa.Column("made_at", UtcTime),
    sa.Column("day", sa.String(10), nullable=False),
    sa.Column("status", sa.String(10), nullable=False),
    sa.Column("defect", sa.String(40)),
    sa.Column("value", sa.Float),
    sa.Column("unit", sa.String(10)),
    sa.Column("verdict_by", sa.String(20)),
    sa.Column("self_inspected", sa.Boolean, nullable=False),
    sa.Column("redo_of", sa.Integer),
    #: A rejected splice is open until a redo is reported.
    sa.Column("open", sa.Boolean, nullable=False),
    sa.Column("told_by", sa.String(20), nullable=False),
    sa.Column("told_at", UtcTime),
    sa.Column("late", sa.Boolean, nullable=False),
    sa.Column("before_sample", sa.Boolean, nullable=False),
    sa.Column("damaged", sa.Boolean, nullable=False),
    sa.Index("splices_status", "site", "status", "place"),
    sa.Index("splices_day", "site", "day"),
    sa.Index("splices_place", "site", "place"),
    sa.Index("splices_redo", "site", "redo_of"),
    sa.Index("splices_open", "site", "open"),
)

splice_entries = sa.Table(
    "splice_entries",
    metadata,
    _site(),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
)

counts = sa.Table(
    "counts",
    metadata,
    _site(),
    sa.Column("day", sa.String(10), primary_key=True),
    sa.Column("place", sa.String(80), primary_key=True),
    sa.Column("kind", sa.String(20), primary_key=True),
    sa.Column("status", sa.String(10), primary_key=True),
    sa.Column("n", sa.Integer, nullable=False),
)

samples = sa.Table(
    "samples",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", sa.String(10), nullable=False),
    sa.Column("iron", sa.String(20)),
    sa.Column("verdict", sa.String(10), nullable=False),
    sa.Column("defect", sa.String(40)),
    sa.Column("person", sa.String(20), nullable=False),
    sa.Index("samples_day", "site", "day"),
)

iron_events = sa.Table(
    "iron_events",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", sa.String(10), nullable=False),
    sa.Column("iron", sa.String(20)),
    sa.Column("event", sa.String(20), nullable=False),
    sa.Column("temp_f", sa.Float),
    sa.Index("iron_events_day", "site", "day"),
)

irons = sa.Table(
    "irons",
    metadata,
    _site(),
    #: "" is an iron nobody has named.
    sa.Column("iron", sa.String(20), primary_key=True),
    sa.Column("is_on", sa.Boolean, nullable=False),
    sa.Column("since", UtcTime, nullable=False),
    sa.Column("temp_f", sa.Float),
    sa.Column("read_at", UtcTime),
)

day_changes = sa.Table(
    "day_changes",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("date", sa.String(10), nullable=False),
    sa.Column("start", sa.String(5)),
    sa.Column("end", sa.String(5)),
    sa.Column("no_work", sa.Boolean),
    sa.Column("snooze_min", sa.Integer),
    sa.Column("snooze_until", UtcTime),
    sa.Column("remind_at", UtcTime),
    sa.Column("what", sa.Text),
    sa.Column("quiet", sa.Boolean, nullable=False),
    sa.Column("who", sa.Text, nullable=False),
    sa.Column("person", sa.String(20), nullable=False),
    sa.Index("day_changes_date", "site", "date"),
)

crews = sa.Table(
    "crews",
    metadata,
    _site(),
    sa.Column("day", sa.String(10), primary_key=True),
    sa.Column("people", sa.Text, nullable=False),
)

acknowledgements = sa.Table(
    "acknowledgements",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", sa.String(10), nullable=False),
    sa.Column("what", sa.String(20), nullable=False),
    sa.Column("iron", sa.String(20)),
    sa.Index("acknowledgements_day", "site", "day"),
)

reminded = sa.Table(
    "reminded",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", sa.String(10), nullable=False),
    sa.Column("what", sa.String(60), nullable=False),
    sa.Column("iron", sa.String(20)),
    sa.Column("step", sa.Integer, nullable=False),
    sa.Column("people", sa.Text, nullable=False),
    sa.Index("reminded_day", "site", "day"),
)

damages = sa.Table(
    "damages",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("place", sa.String(80)),
    sa.Column("number", sa.Integer),
    sa.Column("what", sa.Text, nullable=False),
    sa.Column("open", sa.Boolean, nullable=False),
    sa.Index("damages_open", "site", "open", "place"),
)

relayed = sa.Table(
    "relayed",
    metadata,
    _site(),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("verdict", sa.String(10), nullable=False),
    sa.Column("person", sa.String(20), nullable=False),
    sa.Column("at", UtcTime, nullable=False),
)

pours = sa.Table(
    "pours",
    metadata,
    _site(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("place", sa.String(80), nullable=False),
    #: planned or released
    sa.Column("what", sa.String(10), nullable=False),
    sa.Column("date", sa.String(10), nullable=False),
    sa.Column("time", sa.String(5)),
    sa.Column("reason", sa.Text, nullable=False),
    sa.Column("open_points", sa.Text, nullable=False),
    sa.Column("person", sa.String(20), nullable=False),
    sa.Index("pours_place", "site", "what", "place"),
)

PROJECTIONS = (
    sites,
    roster,
    places,
    nicknames,
    splices,
    splice_entries,
    counts,
    samples,
    iron_events,
    irons,
    day_changes,
    crews,
    acknowledgements,
    reminded,
    damages,
    relayed,
    pours,
)

# --- traffic --------------------------------------------------------------------------------------------------------

inbox = sa.Table(
    "inbox",
    metadata,
    _site(),
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("channel", sa.String(20), nullable=False),
    sa.Column("external_id", sa.String(255), nullable=False),
    sa.Column("sender", sa.String(255), nullable=False),
    sa.Column("text", sa.Text, nullable=False),
    sa.Column("received_at", UtcTime, nullable=False),
    sa.Column("written_at", UtcTime),
    sa.Column("room", sa.String(255), nullable=False),
    sa.Column("reply_to", sa.String(255), nullable=False),
    sa.Column("edits", sa.String(255), nullable=False),
    sa.Column("retracts", sa.String(255), nullable=False),
    sa.Column("reaction", sa.Boolean, nullable=False),
    sa.Column("state", sa.String(10), nullable=False),
    sa.Column("tries", sa.Integer, nullable=False),
    sa.UniqueConstraint("site", "channel", "external_id", name="inbox_once"),
    sa.Index("inbox_state", "site", "state", "id"),
)

outbox = sa.Table(
    "outbox",
    metadata,
    _site(),
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    #: The channel's idempotency key.
    sa.Column("key", sa.String(80), nullable=False),
    sa.Column("channel", sa.String(20), nullable=False),
    sa.Column("address", sa.String(255), nullable=False),
    sa.Column("room", sa.String(255), nullable=False),
    sa.Column("reply_to", sa.String(255), nullable=False),
    sa.Column("kind", sa.String(10), nullable=False),
    sa.Column("text", sa.Text, nullable=False),
    sa.Column("picture", sa.Text, nullable=False),
    sa.Column("queued_at", UtcTime, nullable=False),
    sa.Column("next_at", UtcTime, nullable=False),
    sa.Column("state", sa.String(10), nullable=False),
    sa.Column("tries", sa.Integer, nullable=False),
    sa.Column("external_id", sa.String(255), nullable=False),
    sa.UniqueConstraint("site", "key", name="outbox_once"),
    sa.Index("outbox_state", "state", "next_at"),
)

talks = sa.Table(
    "talks",
    metadata,
    _site(),
    #: Person id, or the address of a stranger.
    sa.Column("who", sa.String(255), primary_key=True),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("body", sa.Text, nullable=False),
)

wakes = sa.Table(
    "wakes",
    metadata,
    _site(),
    sa.Column("what", sa.String(80), primary_key=True),
    sa.Column("due_at", UtcTime, nullable=False),
    sa.Index("wakes_due", "due_at"),
)

channel_state = sa.Table(
    "channel_state",
    metadata,
    _site(),
    sa.Column("channel", sa.String(20), primary_key=True),
    sa.Column("key", sa.String(120), primary_key=True),
    sa.Column("value", sa.Text, nullable=False),
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
