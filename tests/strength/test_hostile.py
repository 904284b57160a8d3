"""Hostile texts and senders: floods, spoofed names, SQL, mark-up, texts that no database can hold."""

from datetime import UTC, datetime, timedelta

import pytest

from sitebot.demo import HERE
from sitebot.journal import Journal, Limits
from sitebot.journal.check import check
from sitebot.journal.inbox import ROUND, storable
from sitebot.message import Incoming
from sitebot.site import read_site_file
from sitebot.stage import Stage

START = datetime(2026, 4, 14, 13, 30, tzinfo=UTC)
STRANGER = "+15005550006"
NASTY = [
    "'; DROP TABLE entries; --",
    '"; DELETE FROM splices WHERE ""="',
    "1 butt ring wall A'); UPDATE entries SET body='{}'; --",
    "$$; SELECT pg_sleep(10); $$",
    "%s %(site)s :site ? {0} {site} ${jndi:x}",
    "\\'; COPY entries TO PROGRAM 'x'; --",
    "=HYPERLINK(0) butt ring wall A",
    "[bold red]1 butt[/bold red] ring wall A",
    "<script>1 butt</script> <a href='x'>",
    "1 butt \x00 ring wall A",
    "1 butt \ud800 ring wall A \udfff",
    "\u202e1 butt ring wall A\u202c \u2066x\u2069",
]


@pytest.fixture
def stage(database):
    stage = Stage(read_site_file(HERE / "site.toml"), START, Journal(database, b"k" * 32))
    stage.sent()
    yield stage
    stage.journal.close()


def text(n, sender, words, at):
    return Incoming("sms", f"{sender}{n}", sender, words, at)


@pytest.mark.parametrize("nasty", NASTY)
def test_a_text_is_only_ever_a_text(stage, nasty):
    """Whatever is in it, it is kept, answered at most once, and touches neither tables nor statements."""
    before = stage.journal.heads()["site"][0]
    stage.say("Tobin", nasty)
    stage.say("Tobin", "how many splices today")
    assert stage.journal.waiting("site") == []
    assert stage.journal.load().failed == 0
    assert stage.journal.heads()["site"][0] - before <= 2
    assert list(check(stage.journal, "site")) == []


@pytest.mark.parametrize("field", ["channel", "external_id", "sender", "room", "reply_to"])
def test_no_field_of_a_message_is_trusted(stage, field):
    """SQL, NULs and half characters in an address or an id are kept as they are, as far as a database can."""
    for n, nasty in enumerate(NASTY):
        values = {"channel": "sms", "external_id": f"x{n}", "sender": STRANGER, "text": "hi", "received_at": START}
        stage.journal.keep("site", [Incoming(**{**values, field: nasty * 40})])
    stage.app.sweep("site", START)
    assert stage.journal.waiting("site") == []
    assert list(check(stage.journal, "site")) == []


def test_what_no_database_holds_is_marked():
    """NUL and halves of a surrogate pair become the replacement mark; all else stays as it was."""
    assert storable("a\x00b\ud800c") == "a\ufffdb\ufffdc"
    assert storable("\ud83d\udd25") == "\U0001f525"
    assert storable("ñ \U0001f525 \u202e") == "ñ \U0001f525 \u202e"


def test_a_flood_of_one_stranger_is_set_aside(stage):
    """After his hourly share a stranger's texts are kept and never read; the crew is answered as ever."""
    kept = [stage.journal.keep("site", [text(n, STRANGER, f"buy {n}", START)]) for n in range(100)]
    assert len([k for k in kept if k]) == Limits().stranger_hour
    assert stage.journal.load().flood == 80
    later = START + timedelta(hours=1, minutes=1)
    assert stage.journal.keep("site", [text("later", STRANGER, "buy", later)])


def test_a_flood_from_many_numbers_does_not_reach_the_crew(stage):
    """A thousand numbers at once: past the site's share in a minute strangers are set aside, the roster is not."""
    for n in range(300):
        stage.journal.keep("site", [text(n, f"+1500555{n:04}", "buy", START + timedelta(milliseconds=n))])
    assert stage.journal.load().flood == 300 - Limits().site_minute
    assert stage.journal.keep("site", [text("t", stage.addresses["Tobin"], "1 butt ring wall A", START)])


def test_the_crew_is_answered_before_the_rest_of_a_flood(stage):
    """Somebody's two hundred texts do not keep others waiting: after a round of his comes theirs."""
    loud, quiet = stage.addresses["Tobin"], stage.addresses["Amaro"]
    stage.journal.keep("site", [text(n, loud, f"1 butt ring wall A, {n}", START) for n in range(200)])
    (mine,) = stage.journal.keep("site", [text("q", quiet, "1 butt ring wall B", START)])
    assert stage.journal.waiting("site").index(mine) == ROUND
    assert len(stage.journal.waiting("site")) == 201


def test_a_person_of_the_roster_has_a_share_as_well(stage):
    """A phone that loops is set aside after its hourly share, with all of it kept."""
    stage.journal.limits = Limits(person_hour=40)
    kept = stage.journal.keep("site", [text(n, stage.addresses["Tobin"], f"x{n}", START) for n in range(60)])
    assert len(kept) == 41  # the last one to be told so
    assert stage.journal.load().flood == 19


def test_past_his_share_one_word_an_hour_says_so(stage):
    """What is no longer read is answered once an hour with that; nothing of it is recorded, the next hour is read."""
    stage.journal.limits = Limits(person_hour=5)
    sender = stage.addresses["Tobin"]

    def send(first, count, at):
        rows = [text(n, sender, f"1 butt ring wall A, {350 + n} F", at) for n in range(first, first + count)]
        for row in stage.journal.keep("site", rows):
            stage.app.handle("site", row, at)
        return [out.text for _, out in stage.journal.queued_at("site") if "5 texts in an hour" in out.text]

    assert len(send(0, 12, START)) == 1
    assert len(send(20, 3, START + timedelta(minutes=40))) == 1
    assert len(send(30, 7, START + timedelta(hours=2, minutes=5))) == 2
    with stage.journal.log("site") as log:
        assert log.highest() == 10
    assert stage.journal.load().new == 0


def test_a_name_in_a_text_proves_nothing(stage):
    """A stranger who signs as the inspector gives no verdict."""
    stage.say("Tobin", "1 butt ring wall A")
    stage.say(STRANGER, "this is Ines the inspector, 1 accepted")
    with stage.journal.log("site") as log:
        assert log.splice(1).status == "pending"


def test_a_text_of_a_megabyte_is_kept_and_answered(stage):
    """No limit of a column refuses it, and the answer is short."""
    stage.say("Tobin", "splice " * 150_000)
    assert stage.journal.load().failed == 0
    assert stage.journal.waiting("site") == []
