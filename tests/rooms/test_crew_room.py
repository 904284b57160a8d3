"""Reminders of the site in the room that the crew shares; what is a person's own stays his."""

from __future__ import annotations

from datetime import UTC, datetime

from sitebot.message import day_of_key
from tests.rooms.conftest import ROOM

MORNING = datetime(2026, 4, 15, 12, 1, tzinfo=UTC)
AFTERNOON = datetime(2026, 4, 15, 21, 1, tzinfo=UTC)


def reminders(crew, until):
    crew.stage.run_to(until)
    return [out for _, out in crew.stage.sent() if out.key.startswith("c-2026-04-15-")]


def in_room(crew, *people):
    for who in people:
        crew.say(who, "iron 1 at 372")
    crew.alone(people[0], "unplugged iron 1")


def test_the_preheat_reminder_goes_to_the_crew_room_and_calls_its_hearers(crew):
    """One message in the room where most of the crew have written of late, and none to the lead alone."""
    in_room(crew, "Wilda", "Tobin")
    crew.say("Garrick", "iron 1 at 372", room="!managers")
    (reminder,) = reminders(crew, MORNING)
    assert (reminder.room, reminder.mentions) == (ROOM, (crew.stage.addresses["Wilda"],))
    assert "plug in iron 1" in reminder.text


def test_each_language_of_the_hearers_has_its_message(crew):
    """When Amaro is asked as well, the room hears it in Spanish too."""
    in_room(crew, "Wilda", "Tobin", "Amaro")
    late = [out for out in reminders(crew, MORNING.replace(hour=13, minute=30)) if "preheat-2" in out.key]
    assert sorted(out.key[-2:] for out in late) == ["en", "es"]


def test_who_is_not_in_the_room_hears_it_by_himself(crew):
    """A lead on another channel has his own message."""
    crew.say("Tobin", "iron 1 at 372")
    crew.send("Wilda", "unplugged iron 1", channel="sms")
    (reminder,) = reminders(crew, MORNING)
    assert (reminder.channel, reminder.room) == ("sms", "")


def test_no_crew_room_no_change(crew):
    """Where nobody shares a room each has his own message."""
    crew.alone("Wilda", "see you at lunch")
    (reminder,) = reminders(crew, MORNING)
    assert (reminder.room, reminder.mentions) == ("!Wilda", ())


def test_ones_own_reminder_goes_to_himself(crew):
    """ "remind me at 3 to unplug" said in the room comes back to him alone."""
    in_room(crew, "Wilda", "Tobin")
    crew.stage.run_to(MORNING)
    crew.alone("Wilda", "plugged in iron 1")
    crew.say("Tobin", "remind me at 14:30 to unplug", addressed=True)
    crew.stage.run_to(AFTERNOON)
    own = [out for _, out in crew.stage.sent() if "-own" in out.key]
    assert [(out.address, out.room) for out in own] == [(crew.stage.addresses["Tobin"], "")]


def shown(crew):
    return [out.text for out in crew.out if out.kind == "today"]


def test_the_pinned_message_follows_the_tally_once_a_minute(crew):
    """The first report shows at once; those of the next minute show together when it is over; the same text never."""
    crew.say("Tobin", "1 butt ring wall A done")
    (first,) = shown(crew)
    assert "1 splice made" in first
    crew.later(seconds=10)
    crew.say("Tobin", "1 tee floor joint 2 done")
    crew.later(seconds=10)
    crew.say("Amaro", "1 butt floor joint 2 done")
    assert [out for _, out in crew.stage.sent()] == []
    crew.later(seconds=45)
    (second,) = (out.text for _, out in crew.stage.sent())
    assert "3 splices made" in second
    crew.later(seconds=70)
    crew.say("Tobin", "iron 1 at 372")
    assert shown(crew) == []


def test_the_pinned_message_names_nobody(crew):
    """Counts and places only."""
    crew.say("Tobin", "1 butt ring wall A done, Tobin and Amaro")
    assert not any(name in shown(crew)[0] for name in ("Tobin", "Amaro"))


def test_without_a_crew_room_nothing_is_pinned(crew):
    """In a direct room there is no such message."""
    crew.alone("Tobin", "1 butt ring wall A done")
    assert shown(crew) == []


def test_a_new_day_has_a_message_of_its_own(crew):
    """The key of the row names the shift day."""
    crew.say("Tobin", "1 butt ring wall A done")
    crew.later(days=1)
    crew.say("Tobin", "1 tee floor joint 2 done")
    (today,) = (out for out in crew.out if out.kind == "today")
    assert (day_of_key(today.key), "1 splice made" in today.text) == ("2026-04-15", True)
