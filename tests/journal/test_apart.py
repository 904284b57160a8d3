"""Names and addresses beside the chain, and the sums beside the counts, on every database."""

from datetime import UTC, datetime, timedelta

from sitebot import entries as e
from sitebot.journal.check import check, seal_fault
from sitebot.message import Incoming

NOW = datetime(2026, 4, 14, 15, 0, tzinfo=UTC)


def test_an_erased_person_leaves_a_whole_log(journal):
    """Asked, confirmed, reported, erased: the address is nobody's, the texts are gone, counts and chain stand."""
    row = {"person": "p1", "address": "+13035550163"}
    told = e.SpliceReported(number=1, day="2026-04-14", made_at=NOW.isoformat(), place="wall A", kind="butt")
    with journal.turn("s", NOW) as turn:
        turn.record([e.PersonJoined(person="p1", role="crew", name="Iñaki")])
        turn.record([e.AddressAsked(until=(NOW + timedelta(hours=1)).isoformat(), **row)])
        assert turn.log.asked_address(row["address"]) == ("p1", NOW + timedelta(hours=1))
        assert turn.log.people()[0].addresses == ()
        turn.record([e.AddressConfirmed(**row)])
        assert turn.log.people()[0].addresses == (row["address"],)
    journal.keep("s", [Incoming("memory", "1", row["address"], "1 butt wall A", NOW)])
    journal.keep("s", [Incoming("memory", "2", "+13035550199", "INAKI did it, call 303 555-0163", NOW)])
    with journal.turn("s", NOW) as turn:
        turn.record([told, e.VerdictGiven(number=1, verdict="accept")], "p1", 1)
        turn.record([e.DamageReported(place="wall A", what="Iñaki drilled")], "p1", 1)
        seal = "{}-{}".format(*turn.head())
        turn.record([e.PersonErased(person="p1")])
        assert [turn.message(1).text, turn.message(2).text] == ["", "p1 did it, call p1"]
        assert turn.log.people() == []
        assert turn.log.damages()[0].what == "p1 drilled"
        assert [(c.status, c.n) for c in turn.log.totals()] == [("accepted", 1)]
        assert turn.log.next_person() == 2
    assert list(check(journal, "s")) == []
    assert seal_fault(journal, "s", seal) is None
