"""The tables of the traffic: inbox, outbox, talks, codes, wakes, channel state, leases. None is part of the record."""

from __future__ import annotations

import sqlalchemy as sa

from sitebot.journal.columns import UtcTime, Words, metadata, site_key

inbox = sa.Table(
    "inbox",
    metadata,
    site_key(),
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("channel", Words, nullable=False),
    sa.Column("external_id", Words, nullable=False),
    sa.Column("sender", Words, nullable=False),
    sa.Column("text", Words, nullable=False),
    sa.Column("received_at", UtcTime, nullable=False),
    sa.Column("written_at", UtcTime),
    sa.Column("room", Words, nullable=False),
    sa.Column("reply_to", Words, nullable=False),
    sa.Column("edits", Words, nullable=False),
    sa.Column("retracts", Words, nullable=False),
    sa.Column("reaction", sa.Boolean, nullable=False),
    #: Photos that came with it: JSON of name, kind, size and hash of each; "" where none came.
    sa.Column("media", Words, nullable=False, server_default=""),
    sa.Column("addressed", sa.Boolean, nullable=False),
    sa.Column("shared", sa.Boolean, nullable=False),
    sa.Column("thread", Words, nullable=False),
    sa.Column("unreadable", sa.Boolean, nullable=False),
    sa.Column("state", Words, nullable=False),
    sa.Column("tries", sa.Integer, nullable=False),
    sa.UniqueConstraint("site", "channel", "external_id", name="inbox_once"),
    sa.Index("inbox_state", "state", "site", "id"),
    sa.Index("inbox_sender", "site", "sender", "received_at"),
    sa.Index("inbox_shared", "site", "shared", "received_at"),
)

outbox = sa.Table(
    "outbox",
    metadata,
    site_key(),
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    #: The channel's idempotency key.
    sa.Column("key", Words, nullable=False),
    sa.Column("channel", Words, nullable=False),
    sa.Column("address", Words, nullable=False),
    sa.Column("room", Words, nullable=False),
    sa.Column("reply_to", Words, nullable=False),
    sa.Column("kind", Words, nullable=False),
    sa.Column("text", Words, nullable=False),
    sa.Column("picture", Words, nullable=False),
    #: Addresses, a space between.
    sa.Column("mentions", Words, nullable=False),
    sa.Column("queued_at", UtcTime, nullable=False),
    sa.Column("next_at", UtcTime, nullable=False),
    sa.Column("state", Words, nullable=False),
    sa.Column("tries", sa.Integer, nullable=False),
    sa.Column("external_id", Words, nullable=False),
    sa.UniqueConstraint("site", "key", name="outbox_once"),
    sa.Index("outbox_state", "state", "next_at"),
    sa.Index("outbox_sent", "site", "external_id"),
)

talks = sa.Table(
    "talks",
    metadata,
    site_key(),
    #: Person id, or the address of a stranger.
    sa.Column("who", Words, primary_key=True),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("body", Words, nullable=False),
)

#: What waits for a code, of each person at most one; ``until``: while it does.
codes = sa.Table(
    "codes",
    metadata,
    site_key(),
    sa.Column("person", Words, primary_key=True),
    sa.Column("until", UtcTime),
    sa.Column("body", Words, nullable=False),
)

wakes = sa.Table(
    "wakes",
    metadata,
    site_key(),
    sa.Column("what", Words, primary_key=True),
    sa.Column("due_at", UtcTime, nullable=False),
    sa.Index("wakes_due", "due_at"),
)

channel_state = sa.Table(
    "channel_state",
    metadata,
    site_key(),
    sa.Column("channel", Words, primary_key=True),
    sa.Column("key", Words, primary_key=True),
    sa.Column("value", Words, nullable=False),
)

#: Which process holds which channel account, and until when by the database's clock.
leases = sa.Table(
    "leases",
    metadata,
    #: The home site of the account.
    site_key(),
    sa.Column("channel", Words, primary_key=True),
    sa.Column("holder", Words, nullable=False),
    #: Seconds since 1970 by the database's own clock.
    sa.Column("until", sa.Double, nullable=False),
)
