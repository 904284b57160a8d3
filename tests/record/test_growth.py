"""What is asked every day reads a few rows however long the log is: no question walks a table that grows."""

import re

import pytest

from tests.bench import growth

#: Tables as long as the roster, the plan or the list of irons.
SMALL = {"places", "nicknames", "roster", "people", "addresses", "irons", "sites", "heads", "wakes", "damages", "pours"}


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
