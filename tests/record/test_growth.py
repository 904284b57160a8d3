"""What is asked every day reads a few rows however long the log is: no question walks a table that grows."""

import re

import pytest
import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.stage import Stage
from tests.bench import growth

#: Tables as long as the roster, the plan or the list of irons.
SMALL = {"places", "nicknames", "roster", "people", "addresses", "irons", "sites", "heads", "wakes", "damages", "pours"}


@pytest.fixture
def another(stage):
    """The same site in a log of its own."""
    other = Stage(stage.site, stage.now)
    other.sent()
    return other


def test_a_log_in_bulk_is_what_turns_leave(stage, another):
    """The bench's short way writes the same rows as the road's own, so that what it measures is a real log."""
    growth.grow(stage, 0, 700)
    for n in range(700):
        with another.journal.turn(another.name, another.now) as turn:
            turn.record(growth.told(n), "p1")
    assert rows_of(stage) == rows_of(another)


def rows_of(stage):
    """Every row of every table; the signature is with a key of the journal's own."""
    with stage.journal.reading() as tx:
        return {
            table.name: sorted(map(str, tx.execute(sa.select(*(c for c in table.c if c.name != "signature")))))
            for table in t.metadata.sorted_tables
        }


@pytest.mark.parametrize("name", sorted(growth.QUESTIONS))
def test_no_question_walks_the_log(stage, name):
    """Each statement finds its rows by more than the site."""
    growth.grow(stage, 0, 300)
    asked = []
    with stage.journal.engine.connect() as tx:
        driver = tx.connection.driver_connection
        driver.set_trace_callback(asked.append)
        growth.question(stage, growth.QUESTIONS[name][1], 1)
        driver.set_trace_callback(None)
        statements = [statement for statement in asked if statement.startswith("SELECT")]
        assert statements
        for statement in statements:
            for step in driver.execute(f"EXPLAIN QUERY PLAN {statement}"):
                table = re.match(r"(?:SEARCH|SCAN) (\w+)", step[3])
                if table and table[1] not in SMALL:
                    assert step[3].startswith("SEARCH"), step[3]
                    assert not step[3].endswith("(site=?)"), step[3]
