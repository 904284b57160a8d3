"""The journal: it only grows, its chain shows any change, and its tables follow from its entries."""

import json
from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import chain
from sitebot.journal import tables as t
from sitebot.journal.check import check
from sitebot.message import Incoming

NOW = datetime(2026, 4, 14, 15, 0, tzinfo=UTC)


def fill(journal, count=12):
    with journal.turn("s", NOW) as turn:
        turn.record([e.PersonJoined(person="p1", role="crew", name="Tobin", addresses=("+13035550163",))])
        turn.record([e.PlacePlanned(place="wall A", kinds={"butt": 4})])
    for n in range(1, count + 1):
        with journal.turn("s", NOW + timedelta(minutes=n)) as turn:
            turn.record(
                [e.SpliceReported(number=n, day="2026-04-14", made_at=NOW.isoformat(), place="wall A", kind="butt")],
                "p1",
                n,
            )


def test_a_filled_journal_is_whole(journal):
    """Nothing to find where nothing was touched."""
    fill(journal)
    assert list(check(journal, "s")) == []


@pytest.mark.parametrize("statement", ["UPDATE entries SET person = 'x'", "DELETE FROM entries", "TRUNCATE entries"])
def test_the_database_refuses_to_change_entries(journal, statement):
    """Update, delete and truncate of entries are refused by the database itself."""
    fill(journal)
    if statement.startswith("TRUNCATE") and not journal.is_shared:
        statement = "DELETE FROM entries WHERE 1"
    with pytest.raises(sa.exc.DatabaseError, match="only grow"), journal.engine.begin() as tx:
        tx.exec_driver_sql(statement)


def unguarded(journal, *statements):
    with journal.engine.begin() as tx:
        if journal.is_shared:
            tx.exec_driver_sql("DROP TRIGGER entries_no_change ON entries")
        else:
            tx.exec_driver_sql("DROP TRIGGER entries_no_update")
            tx.exec_driver_sql("DROP TRIGGER entries_no_delete")
        for statement in statements:
            tx.exec_driver_sql(statement)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET body = replace(body, 'wall A', 'wall B') WHERE seq = 5",
        "UPDATE entries SET person = 'p9' WHERE seq = 5",
        "UPDATE entries SET at = replace(at, '15:', '16:') WHERE seq = 5",
        "UPDATE entries SET cause = 99 WHERE seq = 5",
        "UPDATE entries SET kind = 'SpliceVoided' WHERE seq = 5",
        "DELETE FROM entries WHERE seq = 5",
    ],
)
def test_a_change_behind_our_back_is_found(journal, statement):
    """Whoever gets past the triggers is found by the chain."""
    fill(journal)
    unguarded(journal, statement)
    faults = list(check(journal, "s"))
    assert len(faults) == 1
    assert "5" in faults[0] or "6" in faults[0]


def test_a_changed_projection_is_found(journal):
    """A derived table that does not follow from the entries is named."""
    fill(journal)
    with journal.engine.begin() as tx:
        tx.execute(t.splices.update().where(t.splices.c.number == 3).values(status="accepted"))
    faults = list(check(journal, "s"))
    assert len(faults) == 1
    assert "splices" in faults[0]


def test_what_raises_in_a_turn_leaves_nothing(journal):
    """A turn stands or falls as a whole."""
    fill(journal, 1)

    def voided_and_broken():
        with journal.turn("s", NOW) as turn:
            turn.record([e.SpliceVoided(number=1)])
            raise RuntimeError

    with pytest.raises(RuntimeError):
        voided_and_broken()
    with journal.turn("s", NOW) as turn:
        assert turn.log.splice(1).status == "pending"


def test_names_and_addresses_stand_beside_the_chain(journal):
    """A name can be erased without touching the chain."""
    fill(journal)
    with journal.engine.begin() as tx:
        bodies = tx.execute(sa.select(t.entries.c.body)).scalars().all()
        assert not any("Tobin" in b or "3035550163" in b for b in bodies)
        tx.execute(t.people.delete())
        tx.execute(t.addresses.delete())
    assert list(check(journal, "s")) == []


def test_counts_follow_every_change(journal):
    """made, rejected and voided splices are counted as they change."""
    fill(journal, 3)
    with journal.turn("s", NOW) as turn:
        turn.record(
            [
                e.VerdictGiven(number=1, verdict="reject", defect="porosity"),
                e.SpliceVoided(number=2),
                e.SpliceRenumbered(number=3, to=8),
                e.SpliceCorrected(number=8, change={"kind": "tee"}, was={"kind": "butt"}),
            ],
            "p1",
        )
        got = {(c.kind, c.status): c.n for c in turn.log.counts()}
        assert got == {("butt", "rejected"): 1, ("butt", "voided"): 1, ("tee", "pending"): 1}
        assert [s.number for s in turn.log.open_rework()] == [1]
        assert turn.log.splice(3) is None
    assert list(check(journal, "s")) == []


def test_the_same_body_gives_the_same_hash_whatever_the_order_of_keys():
    """Canonical JSON: order of keys and spaces do not matter, and accents are kept."""
    a = chain.canonical({"b": 1, "a": "ñ"})
    assert a == chain.canonical(json.loads('{"a": "ñ",  "b": 1}')) == '{"a":"ñ","b":1}'


def test_a_new_database_and_a_migrated_one_have_the_same_tables(journal):
    """What alembic makes is what the tables say."""
    made = sa.inspect(journal.engine).get_table_names()
    assert set(made) - {"alembic_version"} == set(t.metadata.tables)


def test_what_every_message_asks_of_the_database_is_made_once(journal):
    """Keeping a message, finding whose turn it is and what is to be sent build no statement anew: that cost 3 ms."""
    asked = []
    sa.event.listen(journal.engine, "before_execute", lambda connection, statement, *_: asked[-1].append(statement))
    for n in range(3):
        asked.append([])
        journal.sites_of("+13035550163")
        journal.keep("s", [Incoming("sms", f"m{n}", "+13035550163", "4 butts", NOW)], {"cursor": f"{n}"}, "sms")
        assert journal.waiting_sites() == ["s"]
        assert len(journal.waiting("s", 16)) == n + 1
        journal.queued(NOW, 800, 8)
    assert [id(statement) for statement in asked[2]] == [id(statement) for statement in asked[1]]
