"""These tests run on every kind of database; whatever worker a failed one left is killed."""

import pytest

from tests.databases import database, journal, postgres
from tests.strength.office import Office
from tests.strength.workers import alive

__all__ = ["database", "journal", "postgres"]


@pytest.fixture
def office(tmp_path):
    """A telephone office whose workers end with the test."""
    yield Office(tmp_path / "office.db")
    for worker in list(alive):
        worker.kill()
