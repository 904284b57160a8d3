"""A crew room: small talk is left alone, what surely is for the assistant is answered in its place."""

from __future__ import annotations

import pytest

from sitebot.message import Media
from tests.rooms.conftest import ROOM

PNG = b"\x89PNG\r\n\x1a\n"

SMALL_TALK = [
    "see you at lunch",
    "who took my gloves",
    "4 tacos for me",
    "jaja si",
    "lol",
    "good morning everybody",
    "2 coffees please",
    "meeting at 3 in the trailer",
    "the truck is blocking gate 3",
    "bring 2 irons",
    "did 3 laps around the site",
    "anyone got a pen",
    "my truck broke down, 10 min late",
    "thanks man",
    "yes",
    "ok",
    "3 more",
    "nos vemos a las 12",
    "quien agarró mis guantes",
    "4 tacos para mí",
    "ya voy",
    "gracias",
    "feliz cumpleaños Amaro",
    "",
]

FOR_US = [
    ("4 butts ring wall A done", "1-4"),
    ("hicimos 3 rectos en ring wall A", "1-3"),
    ("what angle for a 60 kick flat", "30"),
    ("iron 1 at 372", "372"),
    ("sample passed", "ample"),
    ("unplugged iron 1", "off"),
    ("can we pour ring wall A", "ring wall A"),
    ("i burned my hand on the iron", "water"),
]


@pytest.mark.parametrize("text", SMALL_TALK)
def test_small_talk_is_left_alone(crew, text):
    """Kept raw in the inbox; no reply and no record."""
    assert crew.say("Tobin", text) == []
    assert (crew.state(), crew.splices()) == ("left", {})


@pytest.mark.parametrize(("text", "has"), FOR_US)
def test_what_surely_is_for_the_assistant_is_answered(crew, text, has):
    """A whole report or question is taken up without being called, as a reply in that room."""
    reply, *_ = crew.say("Tobin", text)
    assert has in reply.text
    assert (reply.room, reply.reply_to, crew.state()) == (ROOM, crew.last, "answered")


@pytest.mark.parametrize("text", ["jaja si", "who took my gloves", "good morning everybody"])
def test_who_calls_it_is_answered(crew, text):
    """The same small talk said to the assistant is answered as ever."""
    crew.say("Tobin", text, addressed=True)
    assert crew.state() == "answered"


def test_what_was_left_alone_may_be_said_again_to_it(crew):
    """A text left alone and then said to the assistant at once is no repeat."""
    assert crew.say("Tobin", "made 2") == []
    assert crew.say("Tobin", "made 2", addressed=True) != []


def test_an_answer_to_its_question_needs_no_reply(crew):
    """Who is asked "which place?" in the room may just say it, within minutes."""
    crew.say("Tobin", "2 butts done")
    assert "place" in crew.text()
    crew.say("Tobin", "ring wall A")
    assert [s.place for s in crew.splices().values()] == ["ring wall A"] * 2


def test_a_late_word_is_no_answer(crew):
    """An hour later the same two words are the crew's own talk."""
    crew.say("Tobin", "2 butts done")
    crew.later(hours=1)
    assert crew.say("Tobin", "ring wall A") == []


def test_more_of_the_same_is_understood_just_after_a_report(crew):
    """ "2 more" minutes after a report is a report; "2 more beers later on" is not."""
    crew.say("Tobin", "2 butts ring wall A done")
    crew.say("Tobin", "2 more")
    assert len(crew.splices()) == 4
    assert crew.say("Tobin", "2 more beers later on then") == []


def test_done_counts_just_after_a_reminder(crew):
    """A quarter of an hour after the morning's reminder "done" in the room is an answer to it, later it is talk."""
    assert "iron 1 on" in crew.say("Tobin", "done")[0].text
    crew.later(hours=1)
    assert crew.say("Amaro", "done") == []


def test_another_person_does_not_answer_for_him(crew):
    """ "ring wall A" from somebody else is left alone."""
    crew.say("Tobin", "2 butts done")
    assert crew.say("Amaro", "ring wall A") == []


def test_a_stranger_in_the_room_is_let_be(crew):
    """A person nobody knows is not refused in front of all; called by him, the assistant answers as to a stranger."""
    assert crew.say("+13035550100", "4 butts ring wall A done") == []
    assert crew.say("+13035550100", "4 butts ring wall A done", addressed=True) != []
    assert crew.splices() == {}


def test_what_cannot_be_read_is_asked_for_once_an_hour(crew):
    """One short ask to write again; not for every message of a burst, again after an hour."""
    unread = {"unreadable": True, "reply_to": "$lost"}
    (ask,) = crew.alone("Tobin", **unread)
    assert ("again" in ask.text, ask.reply_to) == (True, "$lost")
    assert crew.alone("Tobin", **unread) == []
    crew.later(minutes=61)
    assert len(crew.alone("Tobin", **unread)) == 1


def test_ones_own_figures_go_to_him_alone(crew):
    """Asked in the room how many somebody made, it answers that person alone and says so in the room."""
    crew.alone("Tobin", "3 butts ring wall A done, Tobin and Amaro")
    direct, room = crew.say("Wilda", "how many did Tobin weld today", addressed=True)
    assert ("3" in direct.text, direct.room) == (True, "")
    assert ("3" in room.text, room.room) == (False, ROOM)


def test_a_notice_goes_to_the_persons_own_room(crew):
    """Who last wrote in the crew room hears what concerns him in his own room."""
    crew.alone("Ines", "what's waiting")
    crew.say("Ines", "what's waiting", addressed=True)
    crew.say("Tobin", "Ines passed 1-2", addressed=True)
    crew.alone("Tobin", "2 butts ring wall A done")
    crew.say("Tobin", "Ines said 1 is good", addressed=True)
    assert [out.room for out in crew.out if out.kind == "notice"] == ["!Ines"]


def photo(crew, who, name, **more):
    return crew.say(who, media=(Media(name, "image/png", PNG),), **more)


def test_a_photo_of_the_lunch_is_left_alone(crew):
    """A picture without a word, to nobody: kept, not asked about."""
    assert photo(crew, "Tobin", "tacos.png") == []


def test_a_photo_right_after_a_report_belongs_to_it(crew):
    """Within a minute of the same person's report in the room it is taken as what was reported."""
    crew.say("Tobin", "1 butt ring wall A done")
    photo(crew, "Tobin", "joint.png")
    assert crew.state() == "answered"
    assert photo(crew, "Amaro", "tacos.png") == []
