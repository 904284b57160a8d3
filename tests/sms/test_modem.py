"""The modem line on a real gammu-smsd, with the dummy phone and with a modem that speaks AT and PDU.

The defects it works round were measured on gammu-smsd 1.42 (Debian 12).
"""

import asyncio
from datetime import UTC, datetime, timedelta, timezone

import pytest

from sitebot.channels.sms import smsd
from sitebot.channels.sms.courtesy import digest
from sitebot.channels.sms.line import Letter, Step
from sitebot.channels.sms.modem import Modem
from sitebot.wording.parts import parts
from tests.sms import tpdu
from tests.sms.conftest import modem_at, need_daemon
from tests.sms.daemon import Daemon, DummyPhone
from tests.sms.office import AMARO, STRANGER, WILDA, Office, come, texted, until
from tests.sms.test_courtesy import Clock

LONG = "Está la grieta en la losa, cuadrante N-3, ¿quién va? " * 6
PLAIN_LONG = "Crack in slab N-3 {open} [ok], 5 € more to say about it. " * 5


def line_on(phone):
    return Modem(phone.daemon.config.url, phone.daemon.config.phone, poll_s=0.1)


# --- the dummy phone: how tables are used ---------------------------------------------------------------------------


async def test_dummy_there_and_back(dummy, office):
    """A text comes in whole and the answer is taken."""
    async with office.open(line_on(dummy)) as channel:
        dummy.receive(AMARO, "¿Dónde va la grúa? á ñ 🚧")
        await until(lambda: office.texts)
        assert office.texts == ["¿Dónde va la grúa? á ñ 🚧"]
        await channel.send(texted(AMARO, "Anotado"))
        await come(channel, "k1", Step.SENT)


async def test_same_key_lies_in_the_daemon_once(dummy, office):
    """Sent three times, and again by a channel that has forgotten it, a key is one message of the daemon."""
    async with office.open(line_on(dummy)) as channel:
        refs = {await channel.send(texted(AMARO, "una vez", "same")) for _ in range(3)}
        await come(channel, "same", Step.SENT)
    async with Office().open(line_on(dummy)) as forgetful:
        refs.add(await forgetful.send(texted(AMARO, "una vez", "same")))
    assert len(refs) == 1
    assert len(dummy.daemon.rows(smsd.outbox)) + len(dummy.daemon.rows(smsd.sentitems)) == 1


async def test_same_key_of_two_sites_is_two_messages(dummy, office):
    """Keys count by site; what is said to whom tells them apart."""
    async with office.open(line_on(dummy)) as channel:
        first = await channel.send(texted(AMARO, "uno", "1-r"))
        assert await channel.send(texted(WILDA, "two", "1-r")) != first


async def test_an_erased_number_is_in_no_table_of_the_daemon(dummy, office):
    """What came from him, what waits for him and what was sent to him goes; texts of others stay."""
    erased, clock = [], Clock(datetime.now(UTC))
    async with office.open(line_on(dummy), now=clock, erased=lambda: list(erased)) as channel:
        dummy.receive(AMARO, "hola de Amaro")
        dummy.receive(WILDA, "hello of Wilda")
        await until(lambda: len(office.texts) == 2)
        await channel.send(texted(AMARO, LONG, "a"))
        await channel.send(texted(WILDA, "noted", "w"))
        await come(channel, "a", Step.SENT)
        await come(channel, "w", Step.SENT)
        erased.append(digest(AMARO))
        clock.at += timedelta(seconds=61)
        await until(lambda: AMARO not in held_by(dummy))
    assert "Amaro" not in held_by(dummy)
    assert held_by(dummy).count(WILDA) == 2


def held_by(dummy):
    """Every row of the daemon's tables that may hold a text or a number."""
    tables = (smsd.inbox, smsd.outbox, smsd.outbox_multipart, smsd.sentitems)
    return " ".join(str(row) for table in tables for row in dummy.daemon.rows(table))


async def test_first_part_never_lies_alone(dummy, office):
    """Head and further parts are one transaction: where the second cannot be written, nothing is."""
    line = line_on(dummy)
    dummy.daemon.kill()
    with line._engine.begin() as tx:
        tx.exec_driver_sql(
            "CREATE TRIGGER full BEFORE INSERT ON outbox_multipart BEGIN SELECT RAISE(ABORT, 'disk full'); END"
        )
    async with office.open(line) as channel:
        with pytest.raises(Exception, match="disk full"):
            await channel.send(texted(AMARO, "a" * 200))
    assert dummy.daemon.rows(smsd.outbox) == []


async def test_daemon_west_of_greenwich_sends_at_once(tmp_path, office):
    """With SQLite its queue stands still for hours there, unless the times are written explicitly."""
    need_daemon()
    phone = DummyPhone(tmp_path)
    phone.daemon = Daemon(tmp_path, phone.section)
    phone.daemon.zone = "America/Chicago"
    phone.daemon.start()
    try:
        async with office.open(line_on(phone)) as channel:
            await channel.send(texted(AMARO, "ahora"))
            await come(channel, "k1", Step.SENT, 6)
    finally:
        phone.daemon.stop()


async def test_sqlite_is_laid_out_for_two_processes(dummy):
    """In WAL mode the daemon and the channel do not lock each other out; laying out again changes nothing."""
    with dummy.daemon.engine.begin() as tx:
        assert tx.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
    assert smsd.prepare(dummy.daemon.config) is False


async def test_nothing_is_marked_read_before_the_commit(dummy, office):
    """When the inbox fails, the daemon's row stays unread and the next look brings the text."""
    office.broken = 1
    line = line_on(dummy)
    dummy.receive(AMARO, "2 uniones")
    channel = office.channel(line)
    with pytest.raises(RuntimeError, match="no database"):
        await asyncio.wait_for(channel.listen(office.keep), 10)
    assert [r["Processed"] for r in dummy.daemon.rows(smsd.inbox)] == ["false"]
    async with office.open(line):
        await until(lambda: office.texts == ["2 uniones"])
        await until(lambda: [r["Processed"] for r in dummy.daemon.rows(smsd.inbox)] == ["true"])


async def test_nobodys_number_is_left_out(dummy, office):
    """Names (one reached a shell by a hook), short codes, our own number bring no message; an empty text does."""
    async with office.open(line_on(dummy)):
        for sender in ("INFO", "x;touch pwn", "72345", "+15550000000"):
            dummy.receive(sender, "Your balance is low")
        dummy.receive(WILDA, "")
        await until(lambda: office.texts)
        assert [(m.sender, m.text) for m in office.inbox.values()] == [(WILDA, "")]


async def test_old_texts_do_not_stay(dummy, office):
    """Once a day what was read and sent a month ago goes; what is younger or unread stays."""
    old = datetime.now(UTC) - timedelta(days=40)
    async with office.open(line_on(dummy)) as channel:
        dummy.receive(AMARO, "old", when=old)
        dummy.receive(AMARO, "young")
        await channel.send(texted(AMARO, "sent"))
        await come(channel, "k1", Step.SENT)
        await until(lambda: [r["Processed"] for r in dummy.daemon.rows(smsd.inbox)] == ["true", "true"])
    dummy.receive(AMARO, "unread", when=old)
    await until(lambda: len(dummy.daemon.rows(smsd.inbox)) == 3)
    line = line_on(dummy)
    line._purge()
    assert len(dummy.daemon.rows(smsd.inbox)) == 2
    assert len(dummy.daemon.rows(smsd.sentitems)) == 1
    assert smsd.purge(dummy.daemon.engine, datetime.now(UTC) + timedelta(days=1)) == 2


# --- the modem: what is on air --------------------------------------------------------------------------------------


async def test_modem_there_and_back(shared_modem, office):
    """Over the air: sender, text and stamp come in; the answer goes out folded and its report comes back."""
    async with office.open(line_on(shared_modem)) as channel:
        shared_modem.receive(AMARO, "hice 2 uniones en el muro ñ")
        message = (await until(lambda: list(office.inbox.values())))[0]
        assert message.sender == AMARO
        assert abs((message.received_at - message.written_at).total_seconds()) < 30
        await channel.send(texted(AMARO, "Anotó 2 a 350°F", "there"))
        await come(channel, "there", Step.DELIVERED)
    sent = shared_modem.on_air()[-1]
    assert (sent["to"], sent["text"], sent["coding"]) == (AMARO, "Anoto 2 a 350 deg F", 0)


@pytest.mark.parametrize("text", [PLAIN_LONG, "€" * 81, "María 李: " + "áé🚧" * 40], ids=["gsm7", "euros", "ucs2"])
async def test_what_is_written_is_on_air(shared_modem, office, text):
    """No part is cut off, emptied or turned into question marks, as the daemon does with what it divides itself."""
    before = len(shared_modem.on_air())
    async with office.open(line_on(shared_modem)) as channel:
        await channel.send(texted(AMARO, text))
        await come(channel, "k1", Step.DELIVERED)
    sent = shared_modem.on_air()[before:]
    assert [s["text"] for s in sent] == parts(text)
    assert all(s["octets"] <= 140 for s in sent)
    assert len({s["header"][4:6] for s in sent}) == 1


async def test_parts_in_any_order_and_two_senders_with_one_reference(shared_modem, office):
    """Parts are joined by who sent them, with 8-bit and 16-bit references, a repeated part counts once."""
    async with office.open(line_on(shared_modem)):
        shared_modem.receive(AMARO, LONG, ref=9, order=[3, 0, 0])
        shared_modem.receive(WILDA, PLAIN_LONG, ref=9, order=[1, 2, 0], wide=True)
        shared_modem.receive(AMARO, LONG, ref=9, order=[4, 2, 1])
        await until(lambda: len(office.texts) == 2)
    assert {m.sender: m.text for m in office.inbox.values()} == {AMARO: LONG, WILDA: PLAIN_LONG}


async def test_a_sign_split_between_two_parts_is_mended(shared_modem, office):
    """A phone that cuts through a surrogate pair: the parts are joined before they are read."""
    octets = "ok 🚧".encode("utf-16-be")
    async with office.open(line_on(shared_modem)):
        for place, piece in enumerate((octets[:8], octets[8:]), 1):
            header = bytes([0, 3, 77, 2, place])
            shared_modem.order("deliver", pdu=tpdu.deliver(AMARO, "", header, coding=8, payload=piece))
        await until(lambda: office.texts == ["ok 🚧"])


async def test_lost_part_is_asked_for_and_a_late_one_is_not_used(shared_modem, office):
    """Half a text is not read: it may lack the one word that matters. The sender is asked once to send it again."""
    stamp = datetime.now(UTC)
    before = len(shared_modem.on_air())
    async with office.open(line_on(shared_modem), with_={"half_after_s": 1.0}) as channel:
        shared_modem.receive(AMARO, LONG, ref=5, order=[0, 2, 3, 4], when=stamp)
        await until(lambda: len(shared_modem.on_air()) > before)
        shared_modem.receive(AMARO, LONG, ref=5, order=[1], when=stamp)
        shared_modem.receive(AMARO, "otra cosa")
        await until(lambda: office.texts == ["otra cosa"])
        assert not [s for s in channel._kept.ledger.all() if "again" in s.ref and s.number > 1]
    asked = [s["text"] for s in shared_modem.on_air()[before:]]
    assert asked == ["Solo llego parte de su texto y no lo he usado. Mandelo otra vez, por favor."]


async def test_the_networks_repeat_is_one_message(shared_modem, office):
    """The same text with the same stamp is known again; with another stamp it is another text."""
    stamp = datetime.now(UTC).replace(microsecond=0)
    async with office.open(line_on(shared_modem)):
        for when in (stamp, stamp, stamp + timedelta(seconds=3)):
            shared_modem.receive(AMARO, "1 union", when=when)
        await until(lambda: len(office.inbox) == 2 and office.repeats == 1)


async def test_stamp_of_a_network_in_another_zone(shared_modem, office):
    """The network stamps in its own zone; the time it was written is the same moment in UTC."""
    stamp = datetime.now(timezone(timedelta(hours=-7))).replace(microsecond=0) - timedelta(hours=2)
    async with office.open(line_on(shared_modem)):
        shared_modem.receive(AMARO, "tarde", when=stamp)
        await until(lambda: office.texts)
    assert next(iter(office.inbox.values())).written_at == stamp


async def test_a_clock_that_goes_wrong_is_not_believed(shared_modem, office):
    """A stamp of next year is left out; the time of arrival counts."""
    async with office.open(line_on(shared_modem)):
        shared_modem.receive(AMARO, "2 uniones", when=datetime.now(UTC) + timedelta(days=200))
        await until(lambda: office.texts)
    assert next(iter(office.inbox.values())).written_at is None


async def test_binary_messages_are_left_out(shared_modem, office):
    """The notice of a picture and settings messages are no texts."""
    async with office.open(line_on(shared_modem)):
        header = bytes.fromhex("05040b8423f0")
        shared_modem.order("deliver", pdu=tpdu.deliver(AMARO, "", header, payload=bytes(range(40))))
        shared_modem.receive(AMARO, "foto")
        await until(lambda: office.texts)
        assert office.texts == ["foto"]


@pytest.mark.parametrize(("status", "step"), [(0x02, Step.DELIVERED), (0x30, Step.SENT), (0x46, Step.FAILED)])
async def test_reports_of_the_network(shared_modem, office, status, step):
    """TS 23.040 9.2.3.15: replaced is delivered, still trying is on its way, validity over is failed."""
    shared_modem.order("set", report_status=status)
    try:
        async with office.open(line_on(shared_modem)) as channel:
            await channel.send(texted(AMARO, f"status {status}"))
            await come(channel, "k1", step)
            if step == Step.FAILED:
                await channel.send(texted(AMARO, "once more", "k2"))
                await come(channel, "k2", step)
                assert channel.unreachable() == {AMARO: "not reached"}
    finally:
        shared_modem.order("set", report_status=0)


async def test_report_by_another_service_centre_leaves_it_sent(shared_modem, office):
    """The daemon drops such a report without a word; the message is not held for failed."""
    shared_modem.order("set", report_from="+15559999999")
    try:
        async with office.open(line_on(shared_modem)) as channel:
            await channel.send(texted(AMARO, "otro centro"))
            await come(channel, "k1", Step.SENT)
            shared_modem.quiet()
            assert channel.unreachable() == {}
    finally:
        shared_modem.order("set", report_from="+15550000000")


async def test_stop_start_and_silence(shared_modem, office):
    """One confirmation and silence; a second STOP is not answered; START brings texts back."""
    before = len(shared_modem.on_air())
    async with office.open(line_on(shared_modem)) as channel:
        shared_modem.receive(STRANGER, " Stop. ")
        await until(lambda: len(shared_modem.on_air()) == before + 1)
        shared_modem.receive(STRANGER, "STOP")
        await until(lambda: len(office.texts) == 2)
        assert channel.unreachable() == {STRANGER: "stopped"}
        shared_modem.receive(STRANGER, "START")
        await until(lambda: len(shared_modem.on_air()) == before + 2)
    assert [s["text"][:28] for s in shared_modem.on_air()[before:]] == [
        "Sitebot: no more texts from ",
        "Sitebot: texts are on again.",
    ]


async def test_more_texts_than_the_card_holds(shared_modem, office):
    """Sixty come while the daemon is down and the card holds fifty: the network keeps the rest, none is lost."""
    modem = shared_modem
    modem.daemon.kill()
    for n in range(60):
        modem.receive(AMARO, f"union {n}")
    assert modem.order("state")["store"] == 50
    await asyncio.to_thread(modem.daemon.start)
    async with office.open(line_on(modem)):
        await until(lambda: len(office.texts) == 60, 40)
    assert sorted(office.texts) == sorted(f"union {n}" for n in range(60))


# --- breaking things ------------------------------------------------------------------------------------------------


async def test_error_once_and_error_for_ever(shared_modem, office):
    """What the network takes at the second try is delivered; what it never takes is given to the line again."""
    modem, before = shared_modem, len(shared_modem.on_air())
    now = [datetime.now(UTC)]
    async with office.open(line_on(modem), now=lambda: now[0]) as channel:
        modem.order("set", fail=["500"])
        await channel.send(texted(AMARO, "a la segunda", "second"))
        await come(channel, "second", Step.DELIVERED, 20)
        modem.order("set", fail=["500"] * 3)
        await channel.send(texted(AMARO, "al fin", "never"))
        await come(channel, "never", Step.FAILED, 20)
        assert channel.unreachable() == {}
        modem.order("set", fail=[])
        now[0] += timedelta(minutes=2)
        await come(channel, "never", Step.DELIVERED)
    assert [s["text"] for s in modem.on_air()[before:]] == ["a la segunda", "al fin"]


async def test_killed_between_keeping_and_deleting(shared_modem, office):
    """The daemon dies after it has written a text down and before it clears the card: the second row is a repeat."""
    modem = shared_modem
    async with office.open(line_on(modem)):
        modem.order("set", kill_on=["+CMGD", modem.daemon.process.pid])
        modem.receive(AMARO, "una sola vez")
        await asyncio.to_thread(modem.daemon.process.wait, 20)
        await asyncio.to_thread(modem.daemon.start)
        await until(lambda: office.repeats == 1, 20)
        assert office.texts == ["una sola vez"]


async def test_killed_in_the_middle_of_a_long_message(shared_modem, office):
    """No part is lost; the one whose answer died with the daemon may go out twice."""
    modem, before = shared_modem, len(shared_modem.on_air())
    async with office.open(line_on(modem)) as channel:
        modem.order("set", kill_after=[before + 2, modem.daemon.process.pid])
        await channel.send(texted(AMARO, "x" * 153 + "y" * 153 + "z" * 100))
        await asyncio.to_thread(modem.daemon.process.wait, 20)
        smsd.release(modem.daemon.engine, "site1")
        await asyncio.to_thread(modem.daemon.start)
        await come(channel, "k1", Step.DELIVERED, 25)
    # A text of an earlier test may come again with the daemon's start; it is not this message's matter.
    mine = [s["text"][0] for s in modem.on_air()[before:] if s["text"][0] in "xyz"]
    assert mine == ["x", "y", "y", "z"]


async def test_postgresql_both_ways(tmp_path, postgres, office):
    """The same line on the daemon's other database: long text in, parts out, reports back, and all of it forgotten."""
    need_daemon()
    for modem in modem_at(tmp_path, postgres_section(postgres)):
        async with office.open(line_on(modem)) as channel:
            modem.receive(AMARO, LONG, order=[2, 0, 1, 4, 3])
            await until(lambda: office.texts == [LONG])
            for _ in range(2):
                await channel.send(texted(AMARO, PLAIN_LONG))
            await come(channel, "k1", Step.DELIVERED)
        assert [s["text"] for s in modem.on_air()] == parts(PLAIN_LONG)
        assert {r["Processed"] for r in modem.daemon.rows(smsd.inbox)} == {True}
        await line_on(modem).forget(digest(WILDA))
        assert AMARO in held_by(modem)
        await line_on(modem).forget(digest(AMARO))
        assert held_by(modem) == ""


def postgres_section(server):
    """Where the daemon finds a database of its own."""
    server.psql("CREATE DATABASE smsd")
    folder = server.get_postmaster_info().socket_dir
    return {"driver": "native_pgsql", "host": str(folder), "user": "postgres", "password": "", "database": "smsd"}


async def test_line_takes_up_what_it_knows_from_before(dummy):
    """Parts that were accepted before a crash get no second row in the daemon's tables."""
    line, taken = line_on(dummy), []

    async def accepted(place, ident, step):
        taken.append((place, ident))

    letter = Letter("ref", AMARO, ("a" * 153, "b"), number=300 % 256)
    await line.send(letter, accepted)
    await line.send(letter, accepted)
    assert taken[:2] == taken[2:]
