"""What the tables are made of: the kinds of columns, and the one list of tables. No table stands here."""

from __future__ import annotations

from datetime import UTC, datetime

import sqlalchemy as sa

metadata = sa.MetaData()

#: Text in the order of its code points on every database, whatever the server's locale; no lengths, so that a long
#: name or address is not refused by one database and taken by the other.
Words = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def utc_text(value: datetime) -> str:
    """A time as it is stored; a naive one is refused at the door."""
    if value.tzinfo is None:
        raise ValueError("a time without a zone")
    return value.astimezone(UTC).isoformat(timespec="microseconds")


class UtcTime(sa.types.TypeDecorator[datetime]):
    """Aware datetimes as ISO text in UTC, to the microsecond, so that text order is time order on every database."""

    impl = sa.Text
    cache_ok = True

    def load_dialect_impl(self, dialect: sa.Dialect) -> sa.types.TypeEngine[str]:
        return dialect.type_descriptor(sa.Text(collation="C") if dialect.name == "postgresql" else sa.Text())

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> str | None:
        return None if value is None else utc_text(value)

    def process_result_value(self, value: str | None, dialect: sa.Dialect) -> datetime | None:
        return None if value is None else datetime.fromisoformat(value)


def site_key() -> sa.Column[str]:
    """The first column of every primary key."""
    return sa.Column("site", Words, primary_key=True)
