"""The SMPP line against a centre on raw sockets, and against an independent server."""

import asyncio
import socket

import pytest

from sitebot.channels.sms.line import Step
from sitebot.channels.sms.settings import SmppSettings
from sitebot.errors import LoggedOut, Refused, Unreachable
from sitebot.wording.parts import parts
from tests.sms import smsc, tpdu
from tests.sms.office import AMARO, WILDA, Office, come, texted, until

pytest.importorskip("aiosmpplib", reason="aiosmpplib is not installed: pip install 'sitebot[sms]'")
from sitebot.channels.sms.smpp import Smpp

LONG = "Crack in slab N-3 {open} [ok], 5 € more to say about it. " * 5
NASTY = ["Hola é ñ ¿ ¡ €[]{}", "más ✓ 🚧", "€" * 100, "🚧" * 40, LONG, "¿quién? más 李 " * 12]


@pytest.fixture
async def centre():
    centre = await smsc.Centre().open()
    yield centre
    await centre.close()


def line_to(centre, office=None, **values):
    values = {"host": "127.0.0.1", "port": centre.port, "system_id": "bot", "password": "pw", "timeout_s": 1.0} | values
    return Smpp(SmppSettings(**values), "+15550000000", office.state if office else {}, rebind_ms=100)


async def bound(centre, line):
    await until(lambda: centre.bound and line.session, 5, "bind")


@pytest.mark.parametrize("text", NASTY, ids=lambda text: f"{text[:3]}{len(text)}")
async def test_what_is_written_arrives(centre, office, text):
    """Every part exact, none over 160 octets, none in message_payload, numbers international and without +."""
    line = line_to(centre)
    async with office.open(line) as channel:
        await bound(centre, line)
        await channel.send(texted(AMARO, text))
        await come(channel, "k1", Step.DELIVERED)
    assert "".join(s["text"] for s in centre.submits) == "".join(parts_folded(text))
    assert all(s["kinds"] == [1, 1, 1, 1] and s["to"] == AMARO[1:] for s in centre.submits)
    assert all(s["size"] <= 160 and not s["options"] for s in centre.submits)
    assert len({s["header"][4:6] for s in centre.submits}) == 1


def parts_folded(text):
    from sitebot.channels.sms import cut, fold

    return parts(cut(fold(text))[0])


@pytest.mark.parametrize("how", ["header", "options", "payload"])
async def test_long_texts_in_all_flavours(centre, office, how):
    """Numbers of parts in a header, in optional fields, or no parts at all; in any order."""
    line = line_to(centre)
    async with office.open(line):
        await bound(centre, line)
        await centre.text(AMARO, LONG, how, order=[1, 2, 0] if how != "payload" else None)
        await centre.text(WILDA, "más 🚧 " * 20, how, ref=8)
    assert {m.sender: m.text for m in office.inbox.values()} == {AMARO: LONG, WILDA: "más 🚧 " * 20}


async def test_committed_before_acknowledged(centre, office):
    """While the inbox fails there is no acknowledgement; when it works again there is one, and one text."""
    line = line_to(centre)
    async with office.open(line):
        await bound(centre, line)
        office.broken = 3
        delivering = centre.start(centre.text(AMARO, "¿Dónde? más"))
        await until(lambda: office.broken == 1)
        assert not delivering.done()
        assert await delivering == [1]
        assert office.texts == ["¿Dónde? más"]


async def test_inbox_that_fails_for_long_drops_the_link(centre, office):
    """Unacknowledged the text comes again on the next link; nothing is lost and nothing doubled, sending works on."""
    line = line_to(centre, hold_s=0.2)
    centre.wait_s = 1.0
    async with office.open(line, pause=lambda _: asyncio.sleep(0.05)) as channel:
        await bound(centre, line)
        office.broken = 4
        assert (await centre.text(AMARO, "otra vez"))[0] > 1
        assert office.texts == ["otra vez"]
        await bound(centre, line)
        await channel.send(texted(AMARO, "sigue"))
        assert centre.binds > 1


async def test_lost_acknowledgement_is_one_message(centre, office):
    """Committed, then the process dies before it answers: a new process knows the repeat after its bind."""
    line = line_to(centre)
    async with office.open(line):
        await bound(centre, line)
        await centre.text(AMARO, "ok")
    line = line_to(centre, office)
    async with office.open(line):
        await bound(centre, line)
        await centre.text(AMARO, "ok")
        assert (len(office.inbox), office.repeats) == (1, 1)


async def test_same_text_twice_is_two_messages(centre, office):
    """On one link a second "ok" is a second message: deliver_sm has no id that would tell."""
    line = line_to(centre)
    async with office.open(line):
        await bound(centre, line)
        for _ in range(2):
            await centre.text(AMARO, "ok")
        assert office.texts == ["ok", "ok"]


async def test_half_received_parts_survive_the_process(centre, office):
    """Each part is acknowledged by itself, so each is kept: the rest may come to the next process."""
    for order in ([0], [2, 1]):
        line = line_to(centre, office)
        async with office.open(line):
            await bound(centre, line)
            await centre.text(AMARO, LONG, order=order)
    assert office.texts == [LONG]


async def test_receipt_overtakes_the_answer(centre, office):
    """It waits for its message, which is delivered when the answer comes."""
    line = line_to(centre)
    async with office.open(line) as channel:
        await bound(centre, line)
        centre.script = ["receipt first"]
        sending = asyncio.create_task(channel.send(texted(AMARO, "hola")))
        await sending
        await come(channel, "k1", Step.DELIVERED)


@pytest.mark.parametrize("setting", ["decimal", "dirty"])
async def test_receipts_as_networks_write_them(centre, office, setting):
    """The id in decimal where the answer had hex; a text that is not of the alphabet."""
    setattr(centre, setting, True)
    line = line_to(centre)
    async with office.open(line) as channel:
        await bound(centre, line)
        await channel.send(texted(AMARO, "hola"))
        await come(channel, "k1", Step.DELIVERED)


async def test_failed_receipts_show_who_is_not_reached(centre, office):
    """Two messages in a row that no phone took."""
    centre.state = "UNDELIV"
    line = line_to(centre)
    async with office.open(line) as channel:
        await bound(centre, line)
        for key in ("k1", "k2"):
            await channel.send(texted(AMARO, f"hola {key}", key))
            await come(channel, key, Step.FAILED)
        assert channel.unreachable() == {AMARO: "not reached"}


@pytest.mark.parametrize(
    ("order", "error"), [("0x58", Unreachable), ("0x14", Unreachable), ("0x0b", Refused), ("no answer", Unreachable)]
)
async def test_refusals(centre, office, order, error):
    """Busy and full pass later and go once more under the same key; a bad address never does."""
    line = line_to(centre, timeout_s=0.3)
    async with office.open(line) as channel:
        await bound(centre, line)
        centre.script = [order]
        with pytest.raises(error):
            await channel.send(texted(AMARO, "hola"))
        if error is Unreachable:
            await channel.send(texted(AMARO, "hola"))
            await come(channel, "k1", Step.DELIVERED)
            assert len(centre.submits) == 2


async def test_accepted_parts_are_not_sent_again(centre, office):
    """The second part is refused for now: only it goes again, also from a new process."""
    line = line_to(centre)
    async with office.open(line) as channel:
        await bound(centre, line)
        centre.script = ["", "0x58"]
        with pytest.raises(Unreachable):
            await channel.send(texted(AMARO, LONG))
    line = line_to(centre, office)
    async with office.open(line) as channel:
        await bound(centre, line)
        await channel.send(texted(AMARO, LONG))
    assert [s["text"] for s in centre.submits] == [parts(LONG)[i] for i in (0, 1, 1, 2)]


async def test_link_drops_and_comes_back(centre, office):
    """What was under way is told at once; the line binds again, and the message goes once more."""
    line = line_to(centre, timeout_s=5.0)
    async with office.open(line) as channel:
        await bound(centre, line)
        centre.script = ["drop"]
        with pytest.raises(Unreachable, match="link was lost"):
            await channel.send(texted(AMARO, "hola"))
        await bound(centre, line)
        await channel.send(texted(AMARO, "hola"))
        await come(channel, "k1", Step.DELIVERED)


async def test_silent_centre_is_left(centre, office):
    """Without an answer to enquire_link the line binds anew."""
    line = line_to(centre, enquire_s=0.2, timeout_s=0.2)
    async with office.open(line):
        await bound(centre, line)
        centre.mute = True
        await until(lambda: centre.binds > 1, 5)


async def test_nothing_given_up_goes_out_later(centre, office):
    """A message that was given back while the link was down is not sent behind our back when it comes up."""
    line = line_to(centre)
    async with office.open(line) as channel:
        await bound(centre, line)
        centre.server.close()
        centre.bound[0].writer.close()
        await until(lambda: not [t for t in asyncio.all_tasks() if t.get_name() == "Sender"])
        with pytest.raises(Unreachable):
            await channel.send(texted(AMARO, "tarde"))
        await centre.open(centre.port)
        await until(lambda: centre.bound, 5, "bind")
        await channel.send(texted(AMARO, "ahora", "k2"))
        assert [s["text"] for s in centre.submits] == ["ahora"]


async def test_wrong_password_is_told(centre):
    """Nobody tries it for ever: the account is wrong, and listening ends with that."""
    channel = Office().channel(line_to(centre, password="no"))
    async with asyncio.timeout(5):
        with pytest.raises(LoggedOut, match="bot is not let in"):
            await channel.listen(Office().keep)


async def test_binary_and_broken_are_acknowledged_and_left_out(centre, office):
    """They bring no message and do not stand in the way of the next."""
    line = line_to(centre)
    async with office.open(line):
        await bound(centre, line)
        await centre.deliver(smsc.delivery(AMARO, "1", b"\x00\x01\x02", coding=4))
        await centre.deliver(smsc.delivery(AMARO, "1", b"\x00a\x00", coding=8))
        await centre.deliver(smsc.delivery("72345", "1", b"balance", kind=3))
        await centre.text(AMARO, "ok")
        assert office.texts[-1] == "ok"
        assert {m.sender for m in office.inbox.values()} == {AMARO}


async def test_an_independent_server(office):
    """The same line with a server that shares no code with it or with us."""
    smpp34 = pytest.importorskip("smpp34", reason="smpp34 is not installed")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server, seen = smpp34.Server("127.0.0.1", port), []
    await server.start()
    settings = SmppSettings(host="127.0.0.1", port=port, system_id="bot", password="pw", timeout_s=2.0)
    async with office.open(Smpp(settings, "+15550000000", {}, rebind_ms=100)) as channel:
        async with asyncio.timeout(10):
            esme = await server.next()
            serving = asyncio.create_task(serve(server, seen))
            await esme.deliver_sm("15550000000", b"2 butts", source_addr=AMARO[1:], source_addr_ton=1, dest_addr_ton=1)
            await until(lambda: office.texts == ["2 butts"])
            await channel.send(texted(AMARO, LONG))
            receipt = b"id:m2 sub:001 dlvrd:001 submit date:2611251000 done date:2611251001 stat:DELIVRD err:000 text:x"
            for ident in (b"m0", b"m1", b"m2"):
                text = receipt.replace(b"m2", ident)
                await esme.deliver_sm("15550000000", text, source_addr=AMARO[1:], esm_class=4, source_addr_ton=1)
            await come(channel, "k1", Step.DELIVERED)
        serving.cancel()
    await server.stop()
    assert b"".join(e.short_message[6:] for e in seen) == tpdu.to_septets(LONG)


async def serve(server, seen):
    """Take whatever is submitted."""
    while event := await server.next():
        if hasattr(event, "accept"):
            event.accept(f"m{len(seen)}")
            seen.append(event)
