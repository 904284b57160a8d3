"""What is asked every day reads a few rows however long the log is: no question walks a table that grows."""

import re

import pytest
import sqlalchemy as sa

from tests.bench import growth

#: Tables as long as the roster, the plan or the list of irons.
SMALL = {"places", "nicknames", "roster", "people", "addresses", "irons", "sites", "heads", "wakes", "damages", "pours"}


@pytest.mark.parametrize("name", sorted(growth.QUESTIONS))
def test_no_question_walks_the_log(stage, name):
    """Each statement finds its rows by more than the site."""
    growth.grow(stage, 0, 300)
    asked = []
    engine = stage.journal.engine
    sa.event.listen(
        engine, "before_cursor_execute", lambda c, cur, statement, values, *_: asked.append((statement, values))
    )
    growth.question(stage, growth.QUESTIONS[name][1], 1)
    statements = [(s, v) for s, v in asked if s.startswith("SELECT")]
    assert statements
    with engine.connect() as tx:
        for statement, values in statements:
            for step in tx.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values):
                table = re.match(r"(?:SEARCH|SCAN) (\w+)", step[3])
                if table and table[1] not in SMALL:
                    assert step[3].startswith("SEARCH"), step[3]
                    assert not step[3].endswith("(site=?)"), step[3]
