"""People: who may be written to and when. The line is paper; the clock is the test's."""

import asyncio
from datetime import timedelta

import pytest

from sitebot.channels.sms.courtesy import QuietHours, unreachable
from sitebot.channels.sms.hearing import Contact
from sitebot.channels.sms.line import Heard, NotNow, OptedOut, Step
from sitebot.channels.sms.pace import Pace, Urgency
from sitebot.channels.sms.sending import reference
from sitebot.channels.sms.settings import SmsSettings
from sitebot.errors import Refused, Unreachable
from tests.sms.office import AMARO, HERE, NOON, STRANGER, WILDA, Office, PaperLine, settings, texted, until

NIGHT = NOON + timedelta(hours=10, minutes=30)  # 22:30 in Denver


class Clock:
    def __init__(self, at=NOON):
        self.at, self.number = at, 0

    def __call__(self):
        return self.at


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def paper():
    return PaperLine()


def said(channel, sender, text, clock, ident=None):
    """The network brings a text."""
    clock.number += 1
    return channel.take([Heard(ident or f"m{clock.number}", sender, text, clock.at)])


# --- the first message ----------------------------------------------------------------------------------------------


async def test_first_message_is_preceded_by_who_why_and_how_to_stop(office, paper, clock):
    """Once, in the language of who gets it, also over a restart."""
    async with office.open(paper, greeted=(), now=clock) as channel:
        await channel.send(texted(AMARO, "Anotado", "k1"))
        await channel.send(texted(AMARO, "Anotado 2", "k2"))
        await channel.send(texted(STRANGER, "Not on the list", "k3"))
    async with office.open(paper, greeted=(), now=clock) as channel:
        await channel.send(texted(AMARO, "Anotado 3", "k4"))
        await channel.send(texted(STRANGER, "Not on the list 2", "k5"))
    assert [t[:24] for t in paper.texts] == [
        "Sitebot, de Tank 2: preg",
        "Anotado",
        "Anotado 2",
        "Sitebot, the automatic t",
        "Not on the list",
        "Anotado 3",
        "Not on the list 2",
    ]


# --- STOP, START, HELP ----------------------------------------------------------------------------------------------


async def test_stop_is_confirmed_once_and_then_silence(office, paper, clock):
    """One confirmation, in his language; no second; nothing of the assistant's goes out, whatever its kind."""
    async with office.open(paper, now=clock) as channel:
        await said(channel, AMARO, "Ya no me manden mensajes", clock)
        await until(lambda: paper.texts)
        await said(channel, AMARO, "STOP", clock)
        for kind in ("reply", "notice", "reminder"):
            with pytest.raises(Refused, match="no more texts"):
                await channel.send(texted(AMARO, "hola", kind, kind))
        await asyncio.sleep(0.1)
        assert channel.unreachable() == unreachable(office.state) == {AMARO: "stopped"}
    assert paper.texts == [
        "Sitebot: no recibira mas textos de este numero. START para volver a recibirlos; AYUDA siempre contesta."
    ]
    assert office.texts == ["Ya no me manden mensajes", "STOP"]


async def test_stop_and_its_confirmation_survive_a_crash(office, paper, clock):
    """Committed together with the message: a process that dies before it confirms leaves that to the next."""
    paper.fails = [Unreachable("down")] * 1000
    async with office.open(paper, now=clock) as channel:
        await said(channel, WILDA, "stop", clock)
    paper.fails = []
    async with office.open(paper, now=clock) as channel:
        await until(lambda: paper.texts)
        with pytest.raises(Refused):
            await channel.send(texted(WILDA, "hello"))
    assert len(paper.texts) == 1


async def test_reply_of_the_assistant_to_a_word_of_the_network_is_left_out(office, paper, clock):
    """The channel has answered; a second confirmation would be one too many."""
    async with office.open(paper, now=clock) as channel:
        await said(channel, WILDA, "HELP", clock, "h1")
        await until(lambda: paper.texts)
        assert (await channel.send(texted(WILDA, "You can ask me", reply_to="h1"))).startswith("answered")
        await channel.send(texted(WILDA, "Noted", "k2", reply_to="other"))
    assert [t[:21] for t in paper.texts] == ["EMERGENCY: call 911. ", "Noted"]


async def test_help_is_answered_also_in_silence(office, paper, clock):
    """HELP, INFO and AYUDA always; they do not end the silence."""
    async with office.open(paper, now=clock) as channel:
        for word in ("STOP", "INFO", "ayuda"):
            await said(channel, WILDA, word, clock)
        await until(lambda: len(paper.texts) == 3)
        with pytest.raises(Refused):
            await channel.send(texted(WILDA, "hello"))


@pytest.mark.parametrize("word", ["START", "Unstop", "yes", "sí", "ALTA"])
async def test_start_ends_the_silence(office, paper, clock, word):
    """Only on his own initiative."""
    async with office.open(paper, now=clock) as channel:
        await said(channel, WILDA, "stop", clock)
        await said(channel, WILDA, word, clock)
        await until(lambda: len(paper.texts) == 2)
        await channel.send(texted(WILDA, "hello"))
        assert channel.unreachable() == {}
    assert paper.texts[1:] == ["Sitebot: texts are on again. STOP ends them.", "hello"]


async def test_yes_of_somebody_who_gets_texts_is_his_own(office, paper, clock):
    """It answers a question of the assistant's, and the channel says nothing to it."""
    async with office.open(paper, now=clock) as channel:
        await said(channel, WILDA, "yes", clock, "y1")
        await channel.send(texted(WILDA, "Recorded", reply_to="y1"))
    assert paper.texts == ["Recorded"]


async def test_opt_out_that_the_network_holds_is_taken_over(office, paper, clock):
    """The provider refuses with its opt-out: kept, and shown to the lead."""
    paper.fails = [OptedOut("21610")]
    async with office.open(paper, now=clock) as channel:
        with pytest.raises(Refused):
            await channel.send(texted(AMARO, "hola"))
        assert channel.unreachable() == {AMARO: "network"}


async def test_stopped_in_other_words_or_elsewhere(office, paper, clock):
    """The roster says so: he is still answered, but nothing is started."""
    office.people[AMARO] = Contact("es", stopped=True)
    async with office.open(paper, now=clock) as channel:
        await channel.send(texted(AMARO, "respuesta"))
        with pytest.raises(Refused):
            await channel.send(texted(AMARO, "aviso", "k2", "notice"))


# --- quiet hours ----------------------------------------------------------------------------------------------------


async def test_quiet_hours_hold_what_the_assistant_starts(office, paper, clock):
    """A notice waits until the morning; replies and the site's reminders (a hot iron) do not."""
    clock.at = NIGHT
    async with office.open(paper, now=clock) as channel:
        await channel.send(texted(WILDA, "answer", "r", "reply"))
        await channel.send(texted(WILDA, "iron 2 is still on", "i", "reminder"))
        with pytest.raises(NotNow) as held:
            await channel.send(texted(WILDA, "splice 4 waits", "n", "notice"))
        assert held.value.until == NIGHT.replace(day=5, hour=15, minute=0)  # 08:00 in Denver
        await said(channel, WILDA, "who is on nights?", clock)
        await channel.send(texted(WILDA, "splice 4 waits", "n", "notice"))
    assert paper.texts == ["answer", "iron 2 is still on", "splice 4 waits"]


@pytest.mark.parametrize(("hours", "quiet"), [(0, False), (8, False), (9, True), (13, True), (19.9, True), (20, False)])
def test_quiet_hours_over_midnight(hours, quiet):
    """From 21:00 to 08:00 at the site, the end not included."""
    values = settings()
    window = QuietHours(values.quiet_from, values.quiet_to, HERE.zone)
    assert (window.until(NOON + timedelta(hours=hours)) is not None) is quiet


# --- robots, strangers, short codes ---------------------------------------------------------------------------------


@pytest.mark.parametrize("number", ["72345", "INFO", "+15550000000", "@amaro:example.org"])
async def test_nothing_goes_to_what_is_no_person(office, paper, clock, number):
    """Short codes, names, ourselves."""
    async with office.open(paper, now=clock) as channel:
        with pytest.raises(Refused, match="no number"):
            await channel.send(texted(number, "hola"))
    assert paper.texts == []


async def test_nothing_is_started_with_a_stranger(office, paper, clock):
    """Only who is on the roster gets notices and reminders."""
    async with office.open(paper, now=clock) as channel:
        for kind in ("notice", "reminder"):
            with pytest.raises(Refused, match="not on the roster"):
                await channel.send(texted(STRANGER, "hola", kind, kind))


async def talk(channel, number, texts, clock, seconds):
    """An exchange with something that answers each of our texts; how many replies it gets."""
    for i, text in enumerate(texts):
        await said(channel, number, text(i), clock)
        clock.at += timedelta(seconds=1)
        try:
            await channel.send(texted(number, f"reply {i}", f"t{number}{i}"))
        except Refused:
            return i
        clock.at += timedelta(seconds=seconds)
    return len(texts)


async def test_robots_are_left_alone(office, paper, clock):
    """A stranger's machine after two like texts or four replies, one on the roster after three at machine speed."""
    async with office.open(paper, now=clock, with_={"parts_per_second": 100.0, "burst": 100}) as channel:
        assert await talk(channel, STRANGER, [lambda i: "I am away"] * 9, clock, 20) == 2
        assert await talk(channel, "+13035550198", [lambda i: f"auto {i}"] * 9, clock, 20) == 4
        assert await talk(channel, AMARO, [lambda i: "no puedo contestar"] * 9, clock, 2) == 3
        assert await talk(channel, WILDA, [lambda i: f"reply {i - 1}"] * 9, clock, 20) == 1


async def test_a_welder_may_say_the_same_all_morning(office, paper, clock):
    """ "1 butt done" every minute is work, not a machine; after an hour the count begins anew."""
    async with office.open(paper, now=clock) as channel:
        assert await talk(channel, AMARO, [lambda i: "1 butt done"] * 50, clock, 70) == 50


# --- rate -----------------------------------------------------------------------------------------------------------


def test_replies_go_before_notices():
    """When room runs out a notice waits first; what confirms a STOP never does."""
    pace = Pace(1.0, 10)
    assert pace.wait(5, Urgency.NOTICE, NOON) == 0
    assert pace.wait(1, Urgency.NOTICE, NOON) == 1
    assert pace.wait(2, Urgency.REMINDER, NOON) == 0
    assert pace.wait(3, Urgency.REPLY, NOON) == 0
    assert pace.wait(1, Urgency.REPLY, NOON) == 1
    assert pace.wait(1, Urgency.CONFIRMATION, NOON) == 0
    assert pace.wait(1, Urgency.REPLY, NOON + timedelta(seconds=2)) == 0


async def test_parts_are_counted_not_messages(office, paper, clock):
    """Three long notices use up what thirty short ones would."""
    async with office.open(paper, now=clock, with_={"burst": 6}) as channel:
        await channel.send(texted(AMARO, "x" * 400, "k1", "notice"))
        with pytest.raises(NotNow, match="rate"):
            await channel.send(texted(AMARO, "y" * 400, "k2", "notice"))
        clock.at += timedelta(seconds=4)
        await channel.send(texted(AMARO, "y" * 400, "k2", "notice"))


async def test_daily_cap(office, paper, clock):
    """A line with a cap keeps it over a restart; the next day it sends again."""
    for key in ("k1", "k2"):
        async with office.open(paper, now=clock, with_={"parts_per_day": 2}) as channel:
            await channel.send(texted(AMARO, f"hola {key}", key))
    async with office.open(paper, now=clock, with_={"parts_per_day": 2}) as channel:
        with pytest.raises(NotNow, match="daily cap"):
            await channel.send(texted(AMARO, "hola 3", "k3"))
        clock.at += timedelta(days=1, seconds=1)
        await channel.send(texted(AMARO, "hola 3", "k3"))


# --- what goes out --------------------------------------------------------------------------------------------------


async def test_at_most_three_parts(office, paper, clock):
    """Whatever comes, no more than three go out."""
    async with office.open(paper, now=clock) as channel:
        await channel.send(texted(AMARO, "una palabra y otra. " * 60))
    assert len(paper.sent[0].parts) == 3


async def test_accents_stay_where_the_site_wants_them(office, paper, clock):
    """A setting; by default they are folded."""
    async with office.open(paper, now=clock, with_={"fold_accents": False}) as channel:
        await channel.send(texted(AMARO, "Anotó"))
    assert paper.texts == ["Anotó"]


async def test_before_listening_nothing_is_sent(paper):
    """What could not be written down is not sent."""
    with pytest.raises(Unreachable):
        await Office().channel(paper).send(texted(AMARO, "hola"))
    assert paper.sent == []


async def test_commit_that_fails_sends_nothing(office, paper, clock):
    """The message stays with the outbox and goes under the same key."""
    async with office.open(paper, now=clock) as channel:
        office.broken = 1
        with pytest.raises(RuntimeError):
            await channel.send(texted(AMARO, "hola"))
        assert paper.sent == []
        ref = await channel.send(texted(AMARO, "hola"))
    assert [letter.ref for letter in paper.sent] == [ref] == [reference(texted(AMARO, "hola"))]


async def test_cancelled_in_the_middle_of_a_commit(office, paper, clock):
    """What the database has then, memory has too: the next change builds on it."""
    kept = office.keep
    in_commit, go_on = asyncio.Event(), asyncio.Event()

    async def slow(messages, rows):
        in_commit.set()
        await go_on.wait()
        await kept(messages, rows)

    async with office.open(paper, now=clock) as channel:
        channel._kept.through(slow)
        taking = asyncio.create_task(channel.take([Heard("p1", AMARO, "half ", NOON, 7, 2, 1)]))
        await in_commit.wait()
        taking.cancel()
        asyncio.get_running_loop().call_later(0.05, go_on.set)
        with pytest.raises(asyncio.CancelledError):
            await taking
        await channel.take([Heard("p2", AMARO, "and half", NOON, 7, 2, 2)])
    assert office.texts == ["half and half"]


async def test_line_that_goes_is_taken_up_again(office, paper, clock):
    """Listening goes on when the other side is gone for a while."""
    calls = []

    async def hear(counter):
        calls.append(counter)
        if len(calls) < 3:
            raise Unreachable("gone")
        await asyncio.Event().wait()

    paper.hear = hear
    async with office.open(paper, pause=lambda _: asyncio.sleep(0)):
        await until(lambda: len(calls) == 3)


def test_settings():
    """The line is a setting; what is wrong is named."""
    assert SmsSettings.model_validate({"line": {"smsdrc": "/etc/sitebot/smsdrc"}}).line.kind == "modem"
    with pytest.raises(ValueError, match="write own numbers as"):
        settings(own=["3035550100"])
    with pytest.raises(ValueError, match="at most 8"):
        settings({"kind": "smpp", "host": "h", "system_id": "s", "password": "123456789"})
    assert Step(3) is Step.DELIVERED
