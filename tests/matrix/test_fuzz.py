"""Mutated events of every kind, fed to the client and to our own readers without a network: nothing may come out."""

from __future__ import annotations

import copy
import json
import logging
import random
from datetime import UTC, datetime

import nio
import pytest
from nio.store import SqliteMemoryStore

from sitebot.channels.matrix.backfill import after_invitation
from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import events_of
from sitebot.channels.matrix.invites import inviter
from sitebot.channels.matrix.reading import attachment, names_us, read, without_name
from sitebot.channels.matrix.rooms import RoomBook
from sitebot.channels.matrix.sas import Comparison, Party
from sitebot.channels.matrix.shield import without_malformed
from tests.matrix.test_attacks import MEGOLM, OLM

ME, ROOM = "@bot:hs", "!room"
ODD = [
    None, 0, -1, 1, 1.5, True, False, "", "x", "\u202e\u200b", "a" * 70_000, [], [1], ["x"], [None], {}, {"a": 1},
    {"rel_type": "m.thread"}, {"event_id": None}, {"body": 1}, 2**63, {"m.in_reply_to": None}, {"m.in_reply_to": []},
    {"rel_type": 1}, "@a:b", "!r:b", "mxc://a/b", "\x00", "\ud800",
]  # fmt: skip
FILE = {
    "url": "mxc://a/b",
    "hashes": {"sha256": "x"},
    "iv": "x",
    "v": "v2",
    "key": {"alg": "A256CTR", "k": "x", "kty": "oct", "ext": True, "key_ops": []},
}
RELATION = {"rel_type": "m.thread", "event_id": "$a", "is_falling_back": True, "m.in_reply_to": {"event_id": "$b"}}
START = {
    "from_device": "D",
    "transaction_id": "t",
    "method": "m.sas.v1",
    "key_agreement_protocols": ["curve25519-hkdf-sha256"],
    "hashes": ["sha256"],
    "message_authentication_codes": ["hkdf-hmac-sha256.v2"],
    "short_authentication_string": ["decimal", "emoji"],
}
IN_ROOM = {
    "m.room.message": [
        {"msgtype": "m.text", "body": "x", "m.relates_to": RELATION, "m.mentions": {"user_ids": [ME]}},
        {"msgtype": "m.text", "body": "* y", "m.new_content": {"msgtype": "m.text", "body": "y"},
         "m.relates_to": {"rel_type": "m.replace", "event_id": "$a"}},
        {"msgtype": "m.image", "body": "x", "url": "mxc://a/b", "info": {"w": 1, "h": 1, "mimetype": "image/png"}},
        {"msgtype": "m.image", "body": "x", "file": FILE, "info": {"thumbnail_file": FILE}},
        {"msgtype": "m.key.verification.request", "body": "x", "to": ME, "from_device": "D", "methods": ["m.sas.v1"]},
        {"msgtype": "m.location", "body": "x", "geo_uri": "geo:1,1"},
    ],
    "m.reaction": [{"m.relates_to": {"rel_type": "m.annotation", "event_id": "$a", "key": "k"}}],
    "m.room.redaction": [{"redacts": "$a", "reason": "r"}],
    "m.sticker": [{"body": "x", "url": "mxc://a/b", "info": {}}],
    "m.room.encrypted": [
        {"algorithm": MEGOLM, "sender_key": "a", "ciphertext": "AAAA", "session_id": "s", "device_id": "D"},
        {"algorithm": OLM, "sender_key": "a", "ciphertext": {"k": {"type": 0, "body": "x"}}},
    ],
    "m.call.invite": [{"call_id": "1", "version": 0, "lifetime": 1, "offer": {"type": "offer", "sdp": "x"}}],
    "m.poll.start": [{}],
}  # fmt: skip
STATE = {
    "m.room.member": [{"membership": "join", "displayname": "x"}, {"membership": "leave"}, {"membership": "invite"}],
    "m.room.name": [{"name": "x"}],
    "m.room.power_levels": [{"users": {"@a:b": 50}, "events": {"m.room.name": 50}, "users_default": 0}],
    "m.room.encryption": [{"algorithm": MEGOLM, "rotation_period_ms": 1}],
    "m.room.create": [{"creator": "@a:b", "room_version": "12", "predecessor": {"room_id": "!a:b", "event_id": "$x"}}],
    "m.room.tombstone": [{"body": "x", "replacement_room": "!a:b"}],
    "m.room.pinned_events": [{"pinned": ["$a"]}],
    "m.space.child": [{"via": ["b"], "suggested": True}],
}
TO_DEVICE = {
    "m.room_key": [{"algorithm": MEGOLM, "room_id": ROOM, "session_id": "s", "session_key": "k"}],
    "m.forwarded_room_key": [
        {"algorithm": MEGOLM, "room_id": ROOM, "session_id": "s", "session_key": "k", "sender_key": "a",
         "sender_claimed_ed25519_key": "x", "forwarding_curve25519_key_chain": []},
    ],
    "m.room_key_request": [
        {"action": "request", "requesting_device_id": "D", "request_id": "1",
         "body": {"algorithm": MEGOLM, "room_id": ROOM, "sender_key": "a", "session_id": "s"}},
        {"action": "request_cancellation", "requesting_device_id": "D", "request_id": "1"},
    ],
    "m.key.verification.start": [START],
    "m.key.verification.key": [{"transaction_id": "t", "key": "x"}],
    "m.key.verification.mac": [{"transaction_id": "t", "mac": {"ed25519:D": "x"}, "keys": "x"}],
    "m.key.verification.cancel": [{"transaction_id": "t", "reason": "x", "code": "m.user"}],
    "m.dummy": [{}],
    "m.room.encrypted": [
        {"algorithm": OLM, "sender_key": "a", "ciphertext": {"OWN": {"type": 0, "body": "AAAA"}}},
        {"algorithm": OLM, "sender_key": "a", "ciphertext": {"OWN": {"type": 1, "body": "AAAA"}}},
    ],
}  # fmt: skip


def paths(value, path=()):
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from paths(inner, (*path, key))


def mutated(value, chance):
    """The value with one to three places taken out or replaced by something odd."""
    value = copy.deepcopy(value)
    for _ in range(chance.choice([1, 1, 1, 2, 3])):
        *way, last = chance.choice([path for path in paths(value) if path] or [("body",)])
        place = value
        for key in way:
            place = place[key]
        if isinstance(place, dict) and chance.random() < 0.3:
            place.pop(last, None)
        else:
            place[last] = copy.deepcopy(chance.choice(ODD))
    return value


def an_event(kinds, chance, number):
    kind = chance.choice(list(kinds))
    event = {
        "type": kind,
        "content": mutated(chance.choice(kinds[kind]), chance),
        "sender": "@evil:b",
        "event_id": f"${number}",
        "origin_server_ts": number,
        "unsigned": {"age": 1},
    }
    if kinds is STATE:
        event["state_key"] = chance.choice(["", "@evil:b", ME])
    return mutated(event, chance) if chance.random() < 0.2 else event


class Feed:
    """A client without a network, and our readers behind it."""

    def __init__(self, seed):
        self.chance = random.Random(seed)
        config = nio.AsyncClientConfig(store=SqliteMemoryStore, store_sync_tokens=False)
        self.client = BotClient("http://nowhere", ME, device_id="DEV", config=config)
        self.client.restore_login(ME, "DEV", "token")
        self.own = self.client.olm.account.identity_keys["curve25519"]
        self.book = RoomBook(ME, {})

    async def one(self, number):
        where = self.chance.choices(["timeline", "state", "invite", "to_device"], [45, 15, 10, 30])[0]
        kinds = {"timeline": self.chance.choice([IN_ROOM, IN_ROOM, STATE]), "to_device": TO_DEVICE}.get(where, STATE)
        event = an_event(kinds, self.chance, number)
        body = json.loads(json.dumps(self.response(where, event, number)).replace('"OWN"', f'"{self.own}"'))
        response = nio.SyncResponse.from_dict(without_malformed(body))
        assert isinstance(response, nio.SyncResponse)
        await self.client.receive_response(response)
        self.read(response)

    def response(self, where, event, number):
        room = {
            "timeline": {"events": [event] if where == "timeline" else [], "limited": False, "prev_batch": "p"},
            "state": {"events": [event] if where == "state" else []},
            "ephemeral": {"events": []},
            "account_data": {"events": []},
        }
        rooms = {"join": {ROOM: room}} if where in ("timeline", "state") else {}
        if where == "invite":
            rooms = {"invite": {"!i": {"invite_state": {"events": [event]}}}}
        to_device = [{"type": event.get("type"), "sender": event.get("sender"), "content": event.get("content")}]
        return {
            "next_batch": f"s{number}",
            "rooms": rooms,
            "to_device": {"events": to_device if where == "to_device" else []},
            "device_one_time_keys_count": {},
            "device_lists": {"changed": [], "left": []},
        }

    def read(self, response):
        """All of our own that a foreign event passes through."""
        now = datetime.now(UTC)
        for room, info in response.rooms.join.items():
            events = events_of([*info.state, *info.timeline.events])
            self.book.note(room, events)
            after_invitation(info.timeline.events, ME)
            for event in events:
                heard = read(event, room, ME, now)
                attachment(event)
                names_us(event, ME, ["bot", "("])
                without_name(heard.text if heard else "", ME, ["bot"])
                comparison = Comparison("t", Party(ME, "DEV", {}), Party("@evil:b", "D", {"ed25519:D": "k"}))
                comparison.receive("start", START)
                comparison.receive(self.chance.choice(["start", "key", "mac", "cancel", "x"]), event.content)
        for info in response.rooms.invite.values():
            assert isinstance(inviter(info.invite_state, ME), str)


async def feed(seed, count):
    logging.disable(logging.CRITICAL)
    try:
        feed = Feed(seed)
        for number in range(count):
            await feed.one(number)
    finally:
        logging.disable(logging.NOTSET)


@pytest.mark.parametrize("seed", [1, 2, 3])
async def test_mutated_events_never_come_out(seed):
    """1,500 mutated events a seed: no exception leaves the client or our readers."""
    await feed(seed, 1500)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(10, 22))
async def test_sixty_thousand_mutated_events_never_come_out(seed):
    """The same for 60,000, by hand."""
    await feed(seed, 5000)
