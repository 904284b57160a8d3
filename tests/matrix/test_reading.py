"""Events read as messages, and messages written as events: the pure part, without a homeserver."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitebot.channels.matrix.content import LONGEST_BYTES, edited, mark_of, pieces, relation, row_of, text_content
from sitebot.channels.matrix.events import event_of
from sitebot.channels.matrix.reading import attachment, clean, names_us, read, without_name
from sitebot.channels.matrix.rooms import RoomBook
from sitebot.channels.matrix.unread import UnreadPile
from sitebot.channels.matrix.wire import trouble
from sitebot.errors import LoggedOut, Refused, Unreachable
from sitebot.message import Outgoing

ME, CREW, ROOM = "@sitebot:hs", "@tavi:hs", "!room"
NOW = datetime(2026, 3, 10, 14, 0, tzinfo=UTC)


def event(content, kind="m.room.message", sender=CREW, **more):
    return event_of(
        {"event_id": "$1", "sender": sender, "type": kind, "origin_server_ts": 0, "content": content, **more}
    )


def text(body, **more):
    return event({"msgtype": "m.text", "body": body, **more})


def heard(found):
    return read(found, ROOM, ME, NOW)


def test_a_text_keeps_its_words_and_its_time():
    """Words, sender, room, and the time it was written beside the time it came."""
    message = heard(event({"msgtype": "m.text", "body": "3 butts wall B3"}, origin_server_ts=1_773_151_200_000))
    assert (message.text, message.sender, message.room) == ("3 butts wall B3", CREW, ROOM)
    assert (message.written_at, message.received_at) == (datetime(2026, 3, 10, 14, 0, tzinfo=UTC), NOW)


@pytest.mark.parametrize(
    "found",
    [
        event({"msgtype": "m.text", "body": "x"}, sender=ME),
        event({"msgtype": "m.notice", "body": "x"}),
        event({"msgtype": "m.unknown", "body": "x"}),
        event({}),
        event({"membership": "join"}, kind="m.room.member", state_key=CREW),
        event({"m.relates_to": {"rel_type": "m.annotation"}}, kind="m.reaction"),
        event({}, kind="m.room.redaction"),
        event({"msgtype": "m.key.verification.request", "body": "x"}),
        event({"msgtype": "m.text", "body": "* x", "m.new_content": {"msgtype": "m.notice"},
               "m.relates_to": {"rel_type": "m.replace", "event_id": "$0"}}),
    ],
)  # fmt: skip
def test_what_nobody_said_to_be_answered_is_nothing(found):
    """Our own words, notices, states, broken events: none of them is a message."""
    assert heard(found) is None


def test_the_quotation_of_an_older_client_is_taken_off():
    """A reply's text is the reply, not the text it quotes."""
    reply = {"m.relates_to": {"m.in_reply_to": {"event_id": "$0"}}}
    message = heard(text("> <@sitebot:hs> unplug the iron\n> now\n\ndone", **reply))
    assert (message.text, message.reply_to) == ("done", "$0")
    assert heard(text("> 3 is what I said")).text == "> 3 is what I said"


def test_what_nobody_sees_is_taken_out():
    """Direction marks, zero-width and control characters do not come in; letters and line breaks do."""
    assert clean("a\u202eb\u200b\x00c\nñ\tx\ufeff") == "abc\nñ\tx"


@given(st.text())
def test_cleaning_twice_is_cleaning_once(found):
    """What is clean stays as it is."""
    assert clean(clean(found)) == clean(found)


@pytest.mark.parametrize(
    ("body", "called", "rest"),
    [
        ("sitebot: how hot?", True, "how hot?"),
        ("Sitebot how hot?", True, "how hot?"),
        ("@sitebot how hot", True, "how hot"),
        ("@sitebot:hs how hot", True, "how hot"),
        ("how hot @sitebot", True, "how hot @sitebot"),
        ("the sitebot said 45", False, "the sitebot said 45"),
        ("sitebots are fine", False, "sitebots are fine"),
        ("sitebot", True, "sitebot"),
        ("lunch?", False, "lunch?"),
    ],
)
def test_a_call_by_name_is_known_and_taken_off(body, called, rest):
    """The name in front or with an @ calls us; a word about us does not."""
    assert names_us(text(body), ME, ["sitebot"]) == called
    assert without_name(body, ME, ["sitebot"]) == rest


def test_a_photo_names_where_it_lies():
    """Address, name, kind and the key; a text has none."""
    found = event({"msgtype": "m.image", "body": "weld.jpg", "url": "mxc://hs/1", "info": {"mimetype": "image/jpeg"}})
    assert (attachment(found).where, attachment(found).name, attachment(found).mime) == (
        "mxc://hs/1",
        "weld.jpg",
        "image/jpeg",
    )
    assert attachment(text("x")) is None


@given(st.text())
def test_pieces_fit_and_lose_no_word(body):
    """Each piece fits an event, and together they hold every word."""
    cut = pieces(body * 50)
    assert all(len(piece.encode()) <= LONGEST_BYTES for piece in cut)
    assert "".join("".join(cut).split()) == "".join("".join(pieces_of_nothing_else(body * 50)).split())


def pieces_of_nothing_else(body):
    from sitebot.channels.matrix.content import plain

    return [plain(body)]


def test_an_answer_is_tied_to_its_question_and_its_thread():
    """A reply outside of threads, and one within, as the specification writes them."""
    assert relation("", "") == {}
    assert relation("$1", "") == {"m.relates_to": {"m.in_reply_to": {"event_id": "$1"}}}
    in_thread = relation("$1", "$0")["m.relates_to"]
    assert in_thread == {
        "rel_type": "m.thread",
        "event_id": "$0",
        "is_falling_back": False,
        "m.in_reply_to": {"event_id": "$1"},
    }


def test_an_edit_carries_both_bodies():
    """The new content for clients that know edits, a marked body for those that do not."""
    content = edited("$1", text_content("4 made"))
    assert content["m.new_content"]["body"] == "4 made"
    assert content["body"] == "* 4 made"
    assert content["m.relates_to"] == {"rel_type": "m.replace", "event_id": "$1"}


def test_every_row_and_part_has_its_own_mark():
    """Rows that differ in anything have different transaction ids; the same row always the same."""
    rows = [
        Outgoing("1-r", "matrix", CREW, "a", room=ROOM, reply_to="$1"),
        Outgoing("1-r", "matrix", CREW, "a", room=ROOM, reply_to="$2"),
        Outgoing("2-r", "matrix", CREW, "a", room=ROOM, reply_to="$1"),
    ]
    marks = {mark_of(row_of(row), part) for row in rows for part in (0, 1)}
    assert len(marks) == 6
    assert marks == {mark_of(row_of(row), part) for row in rows for part in (0, 1)}


@pytest.mark.parametrize(
    ("status", "code", "kind"),
    [
        (401, "M_UNKNOWN_TOKEN", LoggedOut),
        (403, "M_USER_DEACTIVATED", LoggedOut),
        (403, "M_FORBIDDEN", Refused),
        (413, "M_TOO_LARGE", Refused),
        (429, "M_LIMIT_EXCEEDED", Unreachable),
        (429, None, Unreachable),
        (404, None, Unreachable),
        (502, None, Unreachable),
        (200, None, Unreachable),
        (500, "M_UNKNOWN", Unreachable),
    ],
)
def test_every_answer_has_its_error(status, code, kind):
    """Gone for good, refused for good, or to be tried again: by status and code, as the specification means them."""
    assert type(trouble(status, code, "words")).__mro__[:3].count(kind) == 1


def test_encryption_once_seen_stays_over_a_restart():
    """A room book made from what was kept still knows the room as encrypted, even when we left it meanwhile."""
    book = RoomBook(ME, {})
    state = book.note(ROOM, [event({"algorithm": "m.megolm.v1.aes-sha2"}, kind="m.room.encryption", state_key="")])
    state |= book.left(ROOM)
    state |= RoomBook(ME, state).note(ROOM, [event({"membership": "join"}, "m.room.member", state_key=CREW)])
    room = RoomBook(ME, state).get(ROOM)
    assert (room.encrypted, room.joined, room.direct) == (True, True, True)


def test_the_pile_of_unread_messages_has_a_top():
    """Noise that anybody can send does not grow our state without end."""

    class Noise:
        sender = CREW

        def __init__(self, number):
            self.source = {"event_id": f"${number}", "sender": CREW, "type": "m.room.encrypted", "content": {}}

    pile = UnreadPile(None, {})
    rows = [pile.add(ROOM, Noise(number), NOW) for number in range(600)]
    assert sum(map(bool, rows)) == 500
