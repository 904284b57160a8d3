"""Photos on the road of a message: with which splice they are kept, and what is asked or refused."""

from datetime import UTC, datetime, timedelta

import pytest

from sitebot.journal.check import check
from sitebot.message import Media
from sitebot.site import site_of
from sitebot.stage import SITE, Stage
from tests.reports.photography import jpeg, png

FILE = {
    "name": "Intake tower",
    "zone": "America/Denver",
    "irons": ["1"],
    "people": [
        {"name": "Ottoline", "role": "lead", "phone": "+1 303 555 0110"},
        {"name": "Fidel", "role": "crew", "language": "es", "phone": "+1 303 555 0111"},
        {"name": "Bram", "role": "crew", "phone": "+1 303 555 0112"},
        {"name": "Iris", "role": "inspector", "phone": "+1 303 555 0113"},
    ],
    "places": [{"name": "east wall", "kinds": {"butt": 9}}],
}
START = datetime(2026, 3, 10, 16, 0, tzinfo=UTC)


def photo(data=None, name="IMG_1.jpg", mime="image/jpeg", **how):
    return Media(name, mime, jpeg(**how) if data is None else data)


@pytest.fixture
def stage():
    """Three splices stand in the log, 1 to 3."""
    made = Stage(site_of(FILE, "test"), START)
    said(made, "Bram", "1 butt at east wall")
    said(made, "Bram", "2 more butts at east wall", after=5)
    made.now += timedelta(minutes=10)
    return made


def said(stage, who, text="", *media, after=0, **how):
    """What comes back to who texts."""
    stage.now += timedelta(minutes=after)
    stage.sent()
    stage.say(who, text, media=tuple(media), **how)
    address = stage.addresses.get(who, who)
    return " ".join(out.text for _, out in stage.sent() if out.address == address)


def photos(stage):
    with stage.journal.log(SITE) as log:
        return log.photos()


def shown(stage):
    return [(p.numbers, p.of) for p in photos(stage)]


def kinds(stage, number):
    with stage.journal.log(SITE) as log:
        return [line.kind for line in log.history(number)]


def test_a_photo_belongs_to_the_splice_its_text_names(stage):
    """A reject with its photo: the verdict counts as ever, and the photo stands in the story of that splice."""
    reply = said(stage, "Iris", "3 rejected, pores", photo(taken="2026:03:10 09:58:00"))
    assert "Photo kept with #3" in reply
    with stage.journal.log(SITE) as log:
        assert log.splice(3).status == "rejected"
    [kept] = photos(stage)
    assert (kept.numbers, kept.by, kept.taken) == ((3,), "p4", "2026-03-10T09:58:00")
    assert stage.journal.photos.read(kept.sha256) == photo(taken="2026:03:10 09:58:00").data
    assert kinds(stage, 3) == ["SpliceReported", "VerdictGiven", "PhotoKept"]
    assert list(check(stage.journal, SITE)) == []


@pytest.mark.parametrize("caption", ["3", "#3", "splice 3", "photo of 3", "foto del 3"])
def test_a_caption_that_only_names_a_splice(stage, caption):
    """A number beside a photo says what it shows and reports nothing."""
    assert "with #3" in said(stage, "Bram", caption, photo())
    assert shown(stage) == [((3,), "")]
    assert kinds(stage, 3) == ["SpliceReported", "PhotoKept"]


@pytest.mark.parametrize(
    ("caption", "of"),
    [
        ("sample, iron 1, cut open", "sample"),
        ("muestra plancha 1", "sample"),
        ("cover torn", "cover"),
        ("east wall before pour", "place"),
        ("the whole wall", "place"),
    ],
)
def test_a_caption_that_names_a_thing_or_a_place(stage, caption, of):
    """What it shows is kept with it; neither a sample nor a pour is recorded by it."""
    said(stage, "Bram", caption, photo())
    assert shown(stage) == [((), of)]
    with stage.journal.log(SITE) as log:
        assert (list(log.samples(None)), list(log.pours())) == ([], [])


def test_a_photo_with_new_splices_belongs_to_them(stage):
    """ "2 butts" with a photo: it shows the two just recorded."""
    said(stage, "Bram", "2 butts at east wall", photo())
    assert shown(stage) == [((4, 5), "")]


def test_a_photo_alone_asks_and_a_number_settles_it(stage):
    """Nobody said which: it is kept, asked about once, and a bare number places it."""
    assert "Which splice" in said(stage, "Bram", "", photo())
    assert shown(stage) == [((), "")]
    assert "kept with #2" in said(stage, "Bram", "2", after=3)
    assert shown(stage) == [((2,), "")]
    assert kinds(stage, 2) == ["SpliceReported", "PhotoPlaced"]


def test_a_number_nobody_knows_is_asked_again(stage):
    """A photo is never kept with a splice that is not in the log; the next number still settles it."""
    said(stage, "Bram", "", photo())
    assert "No splice 88" in said(stage, "Bram", "88", after=1)
    assert shown(stage) == [((), "")]
    said(stage, "Bram", "1", after=1)
    assert shown(stage) == [((1,), "")]


def test_the_minute_before_names_it(stage):
    """A report, and half a minute later its photo without a word: it belongs to what was reported."""
    said(stage, "Bram", "1 butt at east wall")
    assert "with #4" in said(stage, "Bram", "", photo(), after=0.5)
    assert "Which splice" in said(stage, "Bram", "", photo(seed=2, noise=True), after=10)


def test_another_persons_minute_before_does_not_count(stage):
    """What somebody else just reported says nothing of my photo."""
    said(stage, "Ottoline", "1 butt at east wall")
    assert "Which splice" in said(stage, "Bram", "", photo(), after=0.5)


def test_the_message_replied_to_names_it(stage):
    """A photo sent as a reply belongs to what that message reported, however long ago; also to our answer to it."""
    first = stage.say("Bram", "1 butt at east wall")
    [answer] = [out.key for _, out in stage.sent() if out.address == stage.addresses["Bram"]]
    said(stage, "Bram", "1 butt at east wall", after=30)
    assert "with #4" in said(stage, "Bram", "", photo(), after=30, reply_to=first)
    assert "with #4" in said(stage, "Iris", "", photo(seed=2, noise=True), after=30, reply_to=answer)


def test_the_verdict_a_minute_later_names_it(stage):
    """The photo first, then "3 rejected, pores": the verdict is recorded and the photo goes with it."""
    assert "Which splice" in said(stage, "Iris", "", photo())
    reply = said(stage, "Iris", "3 rejected, pores", after=0.5)
    assert "kept with #3" in reply
    with stage.journal.log(SITE) as log:
        assert log.splice(3).status == "rejected"
    assert shown(stage) == [((3,), "")]


def test_other_talk_leaves_a_waiting_photo_alone(stage):
    """A question that names no splice is answered, and the photo goes on waiting."""
    said(stage, "Bram", "", photo())
    assert "photo" not in said(stage, "Bram", "how hot should the iron be?", after=0.5).lower()
    assert shown(stage) == [((), "")]


def test_a_photo_of_the_sample(stage):
    """A sample reported with its photo: kept with the sample of the day."""
    said(stage, "Bram", "sample passed", photo())
    assert shown(stage) == [((), "sample")]


def test_the_same_photo_twice_is_kept_once(stage):
    """The second time it says so; a second splice that it shows is added."""
    said(stage, "Iris", "3 rejected, pores", photo())
    assert "already" in said(stage, "Bram", "3", photo(), after=5)
    assert shown(stage) == [((3,), "")]
    said(stage, "Bram", "2", photo(), after=5)
    assert shown(stage) == [((2, 3), "")]
    assert len(list(stage.journal.photos.names())) == 1


def test_two_photos_in_a_row_are_two(stage):
    """Without a word both would look like one text sent twice; they are two photos."""
    said(stage, "Bram", "", photo())
    said(stage, "Bram", "", photo(seed=2, noise=True))
    assert len(photos(stage)) == 2


def test_what_is_refused_costs_the_text_nothing(stage):
    """HEIC, a film and half a photo are refused with a reason; the verdict beside each counts, nothing is kept."""
    heic = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(500)
    assert "JPEG" in said(stage, "Iris", "1 rejected, pores", photo(heic, mime="image/heic"))
    assert "only photos" in said(stage, "Iris", "2 rejected, pores", photo(b"\x00\x00\x00\x18ftypmp42" + bytes(99)))
    assert "damaged" in said(stage, "Iris", "3 rejected, pores", photo(png(noise=True)[:-4000]))
    assert photos(stage) == []
    with stage.journal.log(SITE) as log:
        assert [log.splice(n).status for n in (1, 2, 3)] == ["rejected"] * 3


def test_the_spanish_crew_hears_spanish(stage):
    """The question and the refusal come in the sender's language."""
    assert "¿De qué empalme" in said(stage, "Fidel", "", photo())
    assert "Mándela como JPEG" in said(
        stage, "Fidel", "", photo(b"\x00\x00\x00\x18ftypheic" + bytes(99), mime="image/heic"), after=1
    )


def test_a_strangers_photo_is_not_even_kept(stage):
    """A number nobody knows gets its one refusal; nothing of its photo comes on the disk."""
    said(stage, "+13035550199", "look at this", photo())
    assert photos(stage) == []
    assert list(stage.journal.photos.names()) == []


def test_a_photo_moves_with_its_renumbered_splice(stage):
    """After 3 became 30 the photo shows 30."""
    said(stage, "Iris", "3 rejected, pores", photo())
    from sitebot.entries import SpliceRenumbered

    with stage.journal.turn(SITE, stage.now) as turn:
        turn.record([SpliceRenumbered(number=3, to=30)], "p1")
    assert shown(stage) == [((30,), "")]
    assert list(check(stage.journal, SITE)) == []


def test_orphans_are_what_neither_entry_nor_message_names(stage):
    """What was kept or still waits for its answer is named; a refused file is not."""
    said(stage, "Iris", "3 rejected, pores", photo())
    said(stage, "Iris", "2 rejected, pores", photo(b"GIF89a" + bytes(400)))
    named = stage.journal.photos_named()
    assert named == {photos(stage)[0].sha256}
    assert len(list(stage.journal.photos.names())) == 2
