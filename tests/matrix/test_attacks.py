"""Hostile events: none ends the listening, none hides an innocent message beside it, none does so after a restart.

Each attack ends the library's own loop, or has the shape of one that did. A stranger needs only our public key.
"""

from __future__ import annotations

import base64
import json
import uuid

import nio
import pytest
import vodozemac

from sitebot.channels.matrix.account import load
from tests.matrix.matrix_gateway import Change
from tests.matrix.test_sending import bodies, row

OLM = "m.olm.v1.curve25519-aes-sha2"
MEGOLM = "m.megolm.v1.aes-sha2"


class Attacker:
    """A stranger, or a member of the encrypted room, with the means anybody has."""

    def __init__(self, phone, world, bot, room):
        self.phone, self.world, self.room = phone, world, room
        self.device = load(world.store).device
        self.keys = bot.channel._client.olm.account.identity_keys
        self.olm = phone.client.olm

    def to_device(self, kind, content):
        body = {"messages": {self.world.bot_id: {self.device: content}}}
        self.phone.raw("PUT", f"/_matrix/client/v3/sendToDevice/{kind}/{uuid.uuid4()}", body)

    def encrypted(self, ciphertext, sender_key="a"):
        content = {"algorithm": OLM, "sender_key": sender_key, "ciphertext": {self.keys["curve25519"]: ciphertext}}
        self.to_device("m.room.encrypted", content)

    def into_room(self, content):
        path = f"/_matrix/client/v3/rooms/{self.room}/send/m.room.encrypted/{uuid.uuid4()}"
        self.phone.raw("PUT", path, content)

    def sealed(self, plaintext):
        """A properly encrypted message to the assistant's device, with any content."""
        claim = {"one_time_keys": {self.world.bot_id: {self.device: "signed_curve25519"}}}
        found = self.phone.raw("POST", "/_matrix/client/v3/keys/claim", claim)
        (key,) = found["one_time_keys"][self.world.bot_id][self.device].values()
        session = self.olm.account._account.create_outbound_session(curve(self.keys["curve25519"]), curve(key["key"]))
        self.encrypted(parts(session, plaintext), self.olm.account.identity_keys["curve25519"])

    def payload(self, content, kind="m.room_key", recipient_keys=None):
        return {
            "sender": self.phone.id,
            "sender_device": self.phone.client.device_id,
            "keys": {"ed25519": self.olm.account.identity_keys["ed25519"]},
            "recipient": self.world.bot_id,
            "recipient_keys": recipient_keys if recipient_keys is not None else {"ed25519": self.keys["ed25519"]},
            "type": kind,
            "content": content,
        }

    def in_megolm(self, plaintext):
        """A room event under a key that the assistant rightly has."""
        session = self.olm.outbound_group_sessions[self.room]
        self.into_room(
            {
                "algorithm": MEGOLM,
                "sender_key": self.olm.account.identity_keys["curve25519"],
                "ciphertext": session._session.encrypt(plaintext).to_base64(),
                "session_id": session.id,
                "device_id": self.phone.client.device_id,
            }
        )


def curve(text):
    return vodozemac.Curve25519PublicKey.from_base64(text)


def parts(session, plaintext):
    kind, ciphertext = session.encrypt(plaintext).to_parts()
    return {"type": kind, "body": base64.b64encode(ciphertext).decode().rstrip("=")}


def for_a_key_we_never_had(attacker, sender_key):
    account, other = vodozemac.Account(), vodozemac.Account()
    other.generate_one_time_keys(1)
    (key,) = other.one_time_keys.values()
    session = account.create_outbound_session(curve(attacker.keys["curve25519"]), key)
    attacker.encrypted(parts(session, b"{}"), sender_key or account.curve25519_key.to_base64())


def verification_junk(attacker):
    start = {
        "from_device": attacker.phone.client.device_id,
        "transaction_id": "t1",
        "method": "m.sas.v1",
        "key_agreement_protocols": ["curve25519-hkdf-sha256"],
        "hashes": ["sha256"],
        "message_authentication_codes": ["hkdf-hmac-sha256"],
        "short_authentication_string": ["decimal", "emoji"],
    }
    request = {"from_device": attacker.phone.client.device_id, "methods": [1], "transaction_id": "t1"}
    attacker.to_device("m.key.verification.request", request)
    attacker.to_device("m.key.verification.start", start)
    attacker.to_device("m.key.verification.key", {"transaction_id": "t1", "key": "notakey"})
    attacker.to_device("m.key.verification.mac", {"transaction_id": "t1", "mac": {"ed25519:D": "x"}, "keys": "x"})
    attacker.to_device("m.key.verification.mac", {"transaction_id": ["t1"], "mac": {}, "keys": "x"})


def odd_json(attacker):
    for plaintext in (
        b"[]",
        b"1",
        b"null",
        b'{"type": "m.room.message", "content": {"msgtype": 1}}',
        b'{"type": "m.room.message", "content": {}}',
        b'{"type": "m.room.member", "content": {"membership": "join"}, "state_key": "@x:y"}',
        b'{"type": 1, "content": {}}',
        b'{"type": "m.room.message", "content": {"msgtype": "m.text", "body": "x", "m.relates_to": []}}',
        b'{"type": "m.reaction", "content": {"m.relates_to": {"rel_type": "m.annotation", "event_id": 1, "key": {}}}}',
    ):
        attacker.in_megolm(plaintext)


def bad_room_key(attacker):
    content = {"algorithm": MEGOLM, "room_id": "!x", "session_id": "s", "session_key": "garbage"}
    attacker.sealed(json.dumps(attacker.payload(content)).encode())


def without_recipient_key(attacker):
    attacker.sealed(json.dumps(attacker.payload({}, recipient_keys={})).encode())


def bad_timeline(attacker):
    attacker.into_room(
        {"algorithm": MEGOLM, "sender_key": "", "ciphertext": "AAAA", "session_id": "s", "device_id": "D"}
    )
    attacker.into_room(
        {"algorithm": MEGOLM, "sender_key": "s", "ciphertext": "AAAA", "session_id": "", "device_id": "D"}
    )
    attacker.into_room({"algorithm": MEGOLM, "ciphertext": "AAAA", "session_id": "s"})
    attacker.into_room({"algorithm": OLM, "sender_key": "a", "ciphertext": {"k": {"type": 0, "body": "x"}}})


ATTACKS = {
    "stranger: garbage as a first message": lambda a: a.encrypted({"type": 0, "body": "AAAA"}),
    "stranger: garbage as a later message": lambda a: a.encrypted({"type": 1, "body": "AAAA"}),
    "stranger: text where a message should be": lambda a: a.encrypted("x"),
    "stranger: a message for a key we never had": lambda a: for_a_key_we_never_had(a, ""),
    "stranger: a sender key that is no key": lambda a: for_a_key_we_never_had(a, "zz"),
    "stranger: a room key of garbage": bad_room_key,
    "stranger: sealed bytes that are no text": lambda a: a.sealed(b"\xff\xfe not utf8"),
    "stranger: sealed without a recipient key": lambda a: a.sealed(
        json.dumps(a.payload({}, recipient_keys={})).encode()
    ),
    "stranger: sealed list": lambda a: a.sealed(b"[]"),
    "stranger: junk of a verification": verification_junk,
    "member: encrypted events with holes": bad_timeline,
    "member: encrypted bytes that are no text": lambda a: a.in_megolm(b"\xff\xfe\x00"),
    "member: encrypted odd JSON": odd_json,
}


@pytest.mark.parametrize("attack", ATTACKS.values(), ids=ATTACKS.keys())
async def test_an_attack_does_not_keep_an_innocent_message_back(world, attack, request):
    """After the attack an innocent message is heard, and after a restart that meets the attack again, too."""
    crew = await world.phone("crew")
    evil = await world.phone("evil", known="junk" in request.node.name)
    bot = await world.bot(answers=False)
    encrypted = await world.room(crew, evil, encrypted=True)
    for phone in (crew, evil):
        await phone.say(encrypted, "warm")
    await bot.until(lambda: len(bot.heard) == 2)
    await bot.stop()  # so that the next two processes meet the same events
    before = world.log.read_bytes(), {file: file.read_bytes() for file in world.log.parent.glob("bot.db-*")}
    attack(Attacker(evil, world, bot, encrypted))
    await crew.say(encrypted, "innocent")
    bot = await world.bot(answers=False)
    await bot.until(lambda: "innocent" in [message.text for message in bot.heard])
    await bot.stop()
    world.log.write_bytes(before[0])
    for file, data in before[1].items():
        file.write_bytes(data)
    bot = await world.bot(answers=False)
    await bot.until(lambda: "innocent" in [message.text for message in bot.heard])


@pytest.mark.parametrize("field", ["origin_server_ts", "sender", "type", "content", "unsigned"])
async def test_an_event_in_a_broken_frame_does_not_hide_its_neighbours(world, field):
    """A homeserver passes an event on whose frame is none: what stands beside it is heard."""
    gateway = await world.behind_gateway()
    crew = await world.phone("crew")
    bot = await world.bot(answers=False)
    room = await world.room(crew)

    def broken(body):
        for joined in body.get("rooms", {}).get("join", {}).values():
            events = joined.get("timeline", {}).get("events", [])
            events[:] = [one for event in events for one in ({**event, field: [1]}, event)]
        return body

    gateway.changes.append(Change("GET .*/sync", broken))
    await crew.say(room, "innocent")
    await bot.until(lambda: bot.heard)
    assert bot.heard[0].text == "innocent"


@pytest.mark.parametrize("broken", ["signature", "curve25519", "ed25519", "keys", "one-time key"])
async def test_a_member_with_broken_keys_does_not_keep_the_others_from_reading(world, broken):
    """A room member publishes device keys of garbage: the others still get what is said."""
    crew = await world.phone("crew")
    bot = await world.bot(answers=False)
    user = world.server.register(f"evil_{world.tag}")
    login = {"type": "m.login.password", "identifier": {"type": "m.id.user", "user": user}, "password": "pw"}
    _, session = world.server.request("POST", "/_matrix/client/v3/login", login)
    publish_broken_keys(world.server, session, broken)
    room = await world.room(crew, encrypted=True)
    await crew.client.room_invite(room, user)
    world.server.request("POST", f"/_matrix/client/v3/join/{room}", {}, session["access_token"])
    await crew.joined_by(room, user)
    await bot.until(lambda: f'"{user}":"join"' in bot.ledger.state()[f"room:{room}"])
    await bot.channel.send(row("1", room, "readable"))
    await crew.until(lambda: bodies(crew, world.bot_id) == ["readable"])


def publish_broken_keys(server, session, broken):
    """Device keys as any client may upload them: the server does not check what they are."""
    user, device = session["user_id"], session["device_id"]
    account = vodozemac.Account()
    account.generate_one_time_keys(1)
    (one_time,) = account.one_time_keys.values()
    keys = {
        f"curve25519:{device}": "x" if broken == "curve25519" else account.curve25519_key.to_base64(),
        f"ed25519:{device}": "x" if broken == "ed25519" else account.ed25519_key.to_base64(),
    }

    def signed(body):
        text = json.dumps(body, sort_keys=True, separators=(",", ":")).encode()
        signature = "x" if broken == "signature" else account.sign(text).to_base64()
        return body | {"signatures": {user: {f"ed25519:{device}": signature}}}

    shown = {} if broken == "keys" else keys
    upload = {
        "device_keys": signed({"algorithms": [OLM, MEGOLM], "device_id": device, "user_id": user, "keys": shown}),
        "one_time_keys": {
            "signed_curve25519:AAAA": signed({"key": "x" if broken == "one-time key" else one_time.to_base64()})
        },
    }
    answer = server.request("POST", "/_matrix/client/v3/keys/upload", upload, session["access_token"])
    assert answer[0] == 200, answer


async def test_the_library_alone_is_ended_by_the_attacks(world):
    """The shield is needed: without it garbage from a stranger comes out of a sync. When this fails, take it out."""
    evil = await world.phone("evil", known=False)
    bot = await world.bot(answers=False)
    await bot.until(lambda: "sync" in bot.ledger.state())
    await bot.stop()
    account = load(world.store)
    plain = nio.AsyncClient(
        account.homeserver,
        account.user,
        device_id=account.device,
        store_path=str(world.store),
        config=nio.AsyncClientConfig(pickle_key=account.passphrase),
    )
    plain.restore_login(account.user, account.device, account.token)
    ATTACKS["stranger: garbage as a first message"](Attacker(evil, world, bot, ""))
    with pytest.raises(ValueError, match=r"\w"):
        await plain.sync(since=bot.ledger.state()["sync"])
    await plain.close()
