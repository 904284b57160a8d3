"""The modem line on a real gammu-smsd, with the dummy phone and with a modem that speaks AT and PDU."""


from sitebot.channels.sms.line import Step
from sitebot.channels.sms.modem import Modem
from tests.sms.office import AMARO, come, texted, until

LONG = "Crack in slab N-3 {open} [ok] 5 € more to say about it. " * 5


def line_on(phone):
    return Modem(phone.daemon.config.url, phone.daemon.config.phone, poll_s=0.1)


async def test_dummy_there_and_back(dummy, office):
    """A text comes in whole and the answer is taken."""
    async with office.open(line_on(dummy)) as channel:
        dummy.receive(AMARO, "¿Dónde va la grúa? á ñ 🚧")
        await until(lambda: office.texts)
        assert office.texts == ["¿Dónde va la grúa? á ñ 🚧"]
        await channel.send(texted(AMARO, "Anotado"))
        await come(channel, "k1", Step.SENT)


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
