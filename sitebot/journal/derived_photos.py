"""The tables of photos, which follow from the entries as well: one row a photo, one a splice that it shows."""

from __future__ import annotations

import sqlalchemy as sa

from sitebot.journal.columns import UtcTime, Words, metadata, site_key

photos = sa.Table(
    "photos",
    metadata,
    site_key(),
    sa.Column("sha256", Words, primary_key=True),
    sa.Column("seq", sa.Integer, nullable=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", Words, nullable=False),
    sa.Column("mime", Words, nullable=False),
    sa.Column("size", sa.Integer, nullable=False),
    sa.Column("width", sa.Integer, nullable=False),
    sa.Column("height", sa.Integer, nullable=False),
    sa.Column("taken", Words),
    sa.Column("of", Words, nullable=False),
    sa.Column("place", Words),
    sa.Column("person", Words, nullable=False),
    sa.Index("photos_day", "site", "day"),
)

photo_splices = sa.Table(
    "photo_splices",
    metadata,
    site_key(),
    sa.Column("sha256", Words, primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Index("photo_splices_number", "site", "number"),
)
