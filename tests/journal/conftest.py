"""Journal tests run on every kind of database."""

from tests.databases import database, journal, postgres

__all__ = ["database", "journal", "postgres"]
