"""The webhook line: both families of signatures, commit before 2xx, idempotent sending, pictures from allowed hosts."""

import asyncio
import base64
import contextlib
import hashlib
import hmac
import json
import time
from datetime import UTC, datetime
from urllib.parse import urlencode

import pytest

from sitebot.channels.sms.line import Step
from sitebot.channels.sms.settings import WebhookSettings
from sitebot.channels.sms.webhook import MOST_PICTURES, Webhook
from sitebot.entries import SpliceReported
from sitebot.errors import LoggedOut, Refused, Unreachable
from sitebot.site import site_of
from sitebot.stage import SITE, Stage
from tests.reports.photography import jpeg
from tests.sms.office import AMARO, come, texted, until

aiohttp = pytest.importorskip("aiohttp", reason="aiohttp is not installed: pip install 'sitebot[sms]'")
web = pytest.importorskip("aiohttp.web")

SECRET = b"k1"


def line(signature="timestamp-body", **values):
    base = {
        "public_url": "https://bot.example.org",
        "listen_port": 0,
        "signature": signature,
        "secrets": [SECRET.decode(), "old"],
        "send_url": "http://127.0.0.1:9/none",
        "send_headers": {"Authorization": "Bearer t"},
        "timeout_s": 2.0,
    }
    return Webhook(WebhookSettings.model_validate(base | values), "+15550000000")


def text(ident="m1", said="¿más? 🚧", **more):
    return {"id": ident, "from": AMARO, "to": "+15550000000", "text": said, **more}


class Provider:
    """The provider's side: posts to us with its signature, and a server that takes our messages."""

    def __init__(self):
        self.seen, self.answers, self.picture = [], [], (200, "image/png", b"\x89PNG")

    async def post(self, line, path, fields, *, secret=SECRET, at=None, form=False, spoil=b"", url=None):
        stamp = str(int(at or time.time()))
        body = urlencode(fields).encode() if form else json.dumps(fields).encode()
        if form:
            pairs = [(k, v) for k, values in fields.items() for v in (values if isinstance(values, list) else [values])]
            body = urlencode(pairs).encode()
            signed = (url or "https://bot.example.org") + path + "".join(k + v for k, v in sorted(pairs))
            sign = base64.b64encode(hmac.new(secret, signed.encode(), hashlib.sha1).digest()).decode()
        else:
            sign = hmac.new(secret, stamp.encode() + b"." + body, hashlib.sha256).hexdigest()
        kind = "application/x-www-form-urlencoded" if form else "application/json"
        headers = {"Content-Type": kind, "X-Timestamp": stamp, "X-Signature": sign}
        async with (
            aiohttp.ClientSession() as session,
            session.post(f"http://127.0.0.1:{line.port}{path}", data=body + spoil, headers=headers) as answer,
        ):
            assert await answer.text() == "" or answer.status != 204
            return answer.status

    @contextlib.asynccontextmanager
    async def serve(self):
        app = web.Application()
        app.router.add_post("/send", self.take)
        app.router.add_get("/media/{name}", self.show)
        runner = web.AppRunner(app)
        await runner.setup()
        site = web.TCPSite(runner, "127.0.0.1", 0)
        await site.start()
        yield f"http://127.0.0.1:{runner.addresses[0][1]}"
        await runner.cleanup()

    async def take(self, request):
        is_json = request.content_type == "application/json"
        fields = await request.json() if is_json else dict(await request.post())
        self.seen.append(
            {**fields, "key": request.headers["Idempotency-Key"], "auth": request.headers["Authorization"]}
        )
        status, answer = self.answers.pop(0) if self.answers else (200, {"id": f"p{len(self.seen)}"})
        return web.json_response(answer, status=status, headers={"Retry-After": "1"} if status == 429 else {})

    async def show(self, request):
        status, kind, data = self.picture
        return web.Response(status=status, content_type=kind, body=data)


@pytest.fixture
def provider():
    return Provider()


async def listening(line):
    await until(lambda: line.port, 5)


async def test_signed_json(office, provider):
    """A post with the right signature is kept and answered with 204 and nothing else; its repeat is one message."""
    hook = line()
    async with office.open(hook):
        await listening(hook)
        fields = text(timestamp=int(time.time()) - 60)
        assert [await provider.post(hook, "/sms/in", fields) for _ in range(2)] == [204, 204]
    (message,) = office.inbox.values()
    assert (message.external_id, message.sender, message.text) == ("m1", AMARO, "¿más? 🚧")
    assert 55 < (message.received_at - message.written_at).total_seconds() < 65


async def test_secret_being_replaced(office, provider):
    """The old and the new secret both count meanwhile; a third does not."""
    hook = line()
    async with office.open(hook):
        await listening(hook)
        assert await provider.post(hook, "/sms/in", text(), secret=b"old") == 204
        assert await provider.post(hook, "/sms/in", text("m2"), secret=b"none") == 403
    assert list(office.inbox) == ["m1"]


@pytest.mark.parametrize("wrong", [{"at": time.time() - 999}, {"at": time.time() + 999}, {"spoil": b" "}])
async def test_old_and_altered_posts_are_refused(office, provider, wrong):
    """A post that is replayed later, or changed by one byte."""
    hook = line()
    async with office.open(hook):
        await listening(hook)
        assert await provider.post(hook, "/sms/in", text(), **wrong) == 403
    assert office.inbox == {}


async def test_signed_form(office, provider):
    """The signature is over the address as the provider knows it, which a proxy hides; empty fields count."""
    hook = line("url-form")
    fields = text(said="más+b c&d", empty="")
    async with office.open(hook):
        await listening(hook)
        assert await provider.post(hook, "/sms/in", fields, form=True) == 204
        assert await provider.post(hook, "/sms/in", fields, form=True, url="http://127.0.0.1") == 403
    assert office.texts == ["más+b c&d"]


async def test_inbox_fails(office, provider):
    """Then the answer is 500, so that the provider posts again."""
    hook = line()
    office.broken = 1
    async with office.open(hook):
        await listening(hook)
        assert [await provider.post(hook, "/sms/in", text()) for _ in range(2)] == [500, 204]
    assert list(office.inbox) == ["m1"]


async def test_long_ids(office, provider):
    """An id longer than the inbox has room for still tells a repeat."""
    hook = line()
    async with office.open(hook):
        await listening(hook)
        for _ in range(2):
            await provider.post(hook, "/sms/in", text("x" * 300))
    assert [len(i) for i in office.inbox] == [64]
    assert office.repeats == 1


@pytest.mark.parametrize("fields", [{"text": "no id"}, {"id": "x"}])
async def test_posts_without_sense(office, provider, fields):
    """Signed, but not a text."""
    hook = line()
    async with office.open(hook):
        await listening(hook)
        assert await provider.post(hook, "/sms/in", fields) == 400


async def test_names_of_another_provider(office, provider):
    """Fields deep inside, by path; nothing of a provider is in the code."""
    names = {"id": "data.id", "sender": "data.from.0.number", "text": "data.body"}
    hook = line(heard=names)
    async with office.open(hook):
        await listening(hook)
        fields = {"data": {"id": "d1", "from": [{"number": AMARO}], "body": "2 butts"}}
        assert await provider.post(hook, "/sms/in", fields) == 204
    assert office.texts == ["2 butts"]


async def test_sent_again_with_the_same_key(office, provider):
    """Busy, busy, taken: three requests, one idempotency key; a status moves it forward, an older one not back."""
    async with provider.serve() as url:
        hook = line(send_url=url + "/send", send_fields={"profile": "7"})
        async with office.open(hook) as channel:
            await listening(hook)
            provider.answers = [(503, {}), (429, {})]
            for _ in range(2):
                with pytest.raises(Unreachable):
                    await channel.send(texted(AMARO, "Anotó á"))
            ref = await channel.send(texted(AMARO, "Anotó á"))
            assert {s["key"] for s in provider.seen} == {ref}
            assert provider.seen[-1] == {
                "to": AMARO,
                "text": "Anoto a",
                "client_ref": ref,
                "from": "+15550000000",
                "profile": "7",
                "key": ref,
                "auth": "Bearer t",
            }
            for status in ("delivered", "sent", "unheard-of"):
                assert await provider.post(hook, "/sms/status", {"id": "p3", "status": status}) == 204
            await come(channel, "k1", Step.DELIVERED)


async def test_form_provider(office, provider):
    """Sending as form fields under other names."""
    async with provider.serve() as url:
        names = {"to": "To", "text": "Body", "sender": "From", "ref": "", "id": "sid"}
        hook = line(send_url=url + "/send", send_form=True, sent=names)
        provider.answers = [(201, {"sid": "s9"})]
        async with office.open(hook) as channel:
            await listening(hook)
            await channel.send(texted(AMARO, "hola"))
            assert {k: provider.seen[0][k] for k in ("To", "Body", "From")} == {
                "To": AMARO,
                "Body": "hola",
                "From": "+15550000000",
            }
            await provider.post(hook, "/sms/status", {"id": "s9", "status": "undelivered", "error_code": "30005"})
            await come(channel, "k1", Step.FAILED)


@pytest.mark.parametrize(
    ("status", "code", "error"),
    [(400, "", Refused), (401, "", LoggedOut), (400, "21610", Refused), (500, "", Unreachable)],
)
async def test_refusals(office, provider, status, code, error):
    """What will never pass is refused; an opt-out that the provider holds is taken over."""
    async with provider.serve() as url:
        hook = line(send_url=url + "/send", opted_out=["21610"])
        provider.answers = [(status, {"error_code": code} if code else {})]
        async with office.open(hook) as channel:
            await listening(hook)
            with pytest.raises(error):
                await channel.send(texted(AMARO, "hola"))
            assert channel.unreachable() == ({AMARO: "network"} if code else {})


async def test_nobody_answers(office):
    """A provider that is down is tried again later."""
    hook = line()
    async with office.open(hook) as channel:
        await listening(hook)
        with pytest.raises(Unreachable):
            await channel.send(texted(AMARO, "hola"))


async def test_pictures(office, provider):
    """A picture on the provider's host comes with the message."""
    async with provider.serve() as url:
        hook = line(media_hosts=["127.0.0.1"])
        async with office.open(hook):
            await listening(hook)
            await provider.post(hook, "/sms/in", text(media=[{"url": url + "/media/weld.png"}]))
    (message,) = office.inbox.values()
    assert [(m.name, m.mime, m.data) for m in message.media] == [("weld.png", "image/png", b"\x89PNG")]


async def test_pictures_of_a_form(office, provider):
    """The other family: numbered fields, or one field several times, signed with the form; without a text too."""
    async with provider.serve() as url:
        media = [f"{url}/media/{n}.png" for n in (0, 1)]
        for names, fields in (
            ({"media": "Picture*"}, {"Picture0": media[0], "Picture1": media[1], "Pictures": "2"}),
            ({"media": "media"}, {"media": media}),
        ):
            hook = line("url-form", media_hosts=["127.0.0.1"], heard=names)
            async with office.open(hook):
                await listening(hook)
                form = {"id": f"f{names['media']}", "from": AMARO, "text": "", **fields}
                assert await provider.post(hook, "/sms/in", form, form=True) == 204
                spoilt = form | {"id": "spoilt", "Picture0": "http://127.0.0.1/other.png"}
                assert await provider.post(hook, "/sms/in", spoilt, form=True, secret=b"none") == 403
    assert [[m.name for m in message.media] for message in office.inbox.values()] == [["0.png", "1.png"]] * 2
    assert office.texts == ["", ""]


async def test_only_so_many_pictures(office, provider):
    """Five come along, of whatever number; the same post again brings none a second time."""
    async with provider.serve() as url:
        hook = line(media_hosts=["127.0.0.1"])
        async with office.open(hook):
            await listening(hook)
            many = text(media=[f"{url}/media/{n}.png" for n in range(40)])
            for _ in range(2):
                assert await provider.post(hook, "/sms/in", many) == 204
    (message,) = office.inbox.values()
    assert [m.name for m in message.media] == [f"{n}.png" for n in range(MOST_PICTURES)]


@pytest.mark.parametrize(
    ("url", "picture"),
    [
        ("http://localhost:{port}/media/a.png", (200, "image/png", b"x")),
        ("http://10.0.0.1/secret", (200, "image/png", b"x")),
        ("file:///etc/passwd", (200, "image/png", b"x")),
        ("/media/a.html", (200, "text/html", b"x")),
    ],
)
async def test_pictures_left_out(office, provider, url, picture):
    """Other hosts, other kinds: the picture is left out, the text is not."""
    async with provider.serve() as server:
        hook = line(media_hosts=["127.0.0.1"], most_media_bytes=1000)
        provider.picture = picture
        async with office.open(hook):
            await listening(hook)
            url = server + url if url.startswith("/") else url.format(port=server.rsplit(":", 1)[1])
            assert await provider.post(hook, "/sms/in", text(media=url)) == 204
    (message,) = office.inbox.values()
    assert message.media == ()


@pytest.mark.parametrize("picture", [(200, "image/png", b"x" * 2000), (404, "image/png", b"x")], ids=["large", "gone"])
async def test_a_lost_picture_is_named(office, provider, picture):
    """Too large or gone: it comes by its name, so that its sender is told; the text comes as ever."""
    async with provider.serve() as server:
        hook = line(media_hosts=["127.0.0.1"], most_media_bytes=1000)
        provider.picture = picture
        async with office.open(hook):
            await listening(hook)
            assert await provider.post(hook, "/sms/in", text(media=server + "/media/weld.png")) == 204
    (message,) = office.inbox.values()
    assert [(m.name, m.data) for m in message.media] == [("weld.png", b"")]
    await asyncio.sleep(0)


async def test_a_picture_message_comes_to_its_splice(office, provider):
    """A multimedia message by webhook: the verdict is recorded, the photo kept byte for byte with its splice."""
    photo = jpeg(200, 150, noise=True, gps=True)
    people = [{"name": "Amaro", "role": "inspector", "phone": AMARO}, {"name": "Bram", "role": "crew"}]
    stage = Stage(site_of({"name": "Tower", "people": people}, "test"), datetime.now(UTC))
    with stage.journal.turn(SITE, stage.now) as turn:
        made = {"day": f"{stage.now:%Y-%m-%d}", "made_at": stage.now.isoformat(), "kind": "butt"}
        turn.record([SpliceReported(number=1, **made)], "p2")

    async def keep(messages, rows):
        for row in stage.journal.keep(SITE, messages, rows, "sms"):
            stage.app.handle(SITE, row, datetime.now(UTC))

    office.keep = keep
    async with provider.serve() as server:
        hook = line(media_hosts=["127.0.0.1"])
        provider.picture = (200, "image/jpeg", photo)
        async with office.open(hook):
            await listening(hook)
            fields = text(said="1 rejected, pores", media=[{"url": server + "/media/weld.jpg"}])
            assert await provider.post(hook, "/sms/in", fields) == 204
    with stage.journal.log(SITE) as log:
        assert log.splice(1).status == "rejected"
        [kept] = log.photos()
    assert kept.numbers == (1,)
    assert stage.journal.photos.read(kept.sha256) == photo
