"""Trust: a client of today, with the Rust crypto and talking to signed devices only, reads us and is read.

The library against itself does not show what other clients refuse, so a second, independent client takes part.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import pathlib
import shutil
import subprocess
import tempfile

import pytest

from sitebot.channels.matrix.account import load
from sitebot.channels.matrix.cross_signing import SigningKey, canonical
from sitebot.channels.matrix.sas import Comparison, Party
from tests.matrix.matrix_server import PASSWORD
from tests.matrix.test_sending import row

HERE = pathlib.Path(__file__).parent / "second_client"


@pytest.fixture(scope="session")
def second_client():
    """The folder of the second client, its packages installed once a machine."""
    if not shutil.which("node") or not shutil.which("npm"):
        pytest.skip("the second Matrix client needs node and npm")
    lock = (HERE / "package-lock.json").read_bytes()
    folder = pathlib.Path(tempfile.gettempdir()) / f"sitebot-second-client-{hashlib.sha256(lock).hexdigest()[:12]}"
    if not (folder / "node_modules" / "matrix-js-sdk").exists():
        folder.mkdir(exist_ok=True)
        for name in ("package.json", "package-lock.json"):
            shutil.copy(HERE / name, folder)
        done = subprocess.run(["npm", "ci", "--silent"], cwd=folder, capture_output=True, text=True, timeout=120)
        if done.returncode:
            pytest.skip(f"npm could not install the second Matrix client: {done.stderr.strip()[:100]}")
    shutil.copy(HERE / "client.mjs", folder)
    return folder


class Rust:
    """The second client, driven by JSON lines."""

    async def start(self, folder, url, user, mode):
        self.log = (folder / "errors.log").open("ab")
        self.process = await asyncio.create_subprocess_exec(
            "node",
            "client.mjs",
            url,
            user,
            PASSWORD,
            mode,
            cwd=folder,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=self.log,
        )
        self.lines = []
        await self.until("ready")
        return self

    def do(self, command, **more):
        self.process.stdin.write((json.dumps({"do": command, **more}) + "\n").encode())

    async def until(self, what, **fields):
        """The next line that says so; lines before it are kept for later."""

        def fits(line):
            return line["what"] == what and all(line.get(key) == value for key, value in fields.items())

        async with asyncio.timeout(60):
            while not (found := next(filter(fits, self.lines), None)):
                line = await self.process.stdout.readline()
                assert line, (what, fields, self.lines)
                self.lines.append(json.loads(line))
        self.lines.remove(found)
        return found

    async def stop(self):
        print(*self.lines, sep="\n")  # shown when the test fails
        self.process.kill()
        await self.process.wait()
        self.log.close()


async def with_rust(world, folder, mode, *, known=True):
    """The assistant, and a person of today's client in an encrypted room with it."""
    user = world.server.register(f"rust_{world.tag}")
    if known:
        world.roster.add(user)
    bot = await world.bot(answers=False)
    await bot.until(lambda: "sync" in bot.ledger.state())
    rust = await Rust().start(folder, world.server.url, user, mode)
    world.on_end(rust.stop)
    room = await bot.channel.direct_room(user)
    await rust.until("joined")
    await bot.until(lambda: '"join"' in bot.ledger.state()[f"room:{room}"])
    return rust, bot, room, user


async def test_a_client_that_talks_to_signed_devices_only_talks_to_us(world, second_client):
    """In its strictest mode the client of today reads us without a warning, and we read it."""
    rust, bot, room, _ = await with_rust(world, second_client, "signed")
    rust.do("send", room=room, body="how hot?")
    await bot.until(lambda: [message.text for message in bot.heard] == ["how hot?"])
    sent = await bot.channel.send(row("1", room, "360 to 380 F", reply_to=bot.heard[0].external_id))
    event = await rust.until("event", id=sent)
    assert (event["body"], event["unreadable"], event["shield"]) == ("360 to 380 F", False, 0)
    rust.do("trust", user=world.bot_id, device=load(world.store).device)
    assert (await rust.until("trust"))["signed"] is True


@pytest.mark.parametrize("way", ["verify_device", "verify_in_room"])
async def test_emoji_are_the_same_on_both_sides_and_the_assistant_is_verified(world, second_client, way):
    """Somebody on the roster compares emoji: both sides show the same seven, and he has verified us for good."""
    rust, _, room, _ = await with_rust(world, second_client, "signed")
    rust.do(way, user=world.bot_id, device=load(world.store).device, room=room)
    shown = (await rust.until("emoji"))["emoji"]
    await rust.until("event", body=" ".join(shown))
    await rust.until("verified")
    await rust.until("trust changed", person=world.bot_id, verified=True)
    rust.do("trust", user=world.bot_id, device=load(world.store).device)
    assert (await rust.until("trust"))["verified"] is True


async def test_a_strangers_verification_is_not_answered(world, second_client):
    """Somebody who is not on the roster gets no emoji."""
    rust, bot, room, user = await with_rust(world, second_client, "all", known=False)
    rust.do("verify_in_room", user=world.bot_id, room=room)
    rust.do("send", room=room, body="end")
    await bot.until(lambda: bot.heard)
    sent = await bot.channel.send(row("1", room, "after"))
    await rust.until("event", id=sent)
    assert not [line for line in rust.lines if line["what"] == "emoji"]
    assert user not in world.roster


def parties():
    us = Party("@bot:hs", "BOT", {"ed25519:BOT": "k1", "ed25519:master": "k2"})
    return us, Party("@crew:hs", "PHONE", {"ed25519:PHONE": "k3"})


START = {
    "from_device": "PHONE",
    "method": "m.sas.v1",
    "key_agreement_protocols": ["curve25519-hkdf-sha256"],
    "hashes": ["sha256"],
    "message_authentication_codes": ["hkdf-hmac-sha256", "hkdf-hmac-sha256.v2"],
    "short_authentication_string": ["emoji", "decimal"],
    "transaction_id": "t",
}


def test_the_fixed_mac_is_preferred_and_a_wrong_proof_ends_it():
    """Of two MACs the sound one is taken; a proof that does not hold is answered with m.key_mismatch."""
    comparison = Comparison("t", *parties())
    ((_, accept),) = comparison.receive("start", START)
    assert accept["message_authentication_code"] == "hkdf-hmac-sha256.v2"
    assert len(accept["commitment"]) == 43  # base64 of 32 bytes without padding; 64 would be hex
    other = Comparison("t", *reversed(parties()))
    ((_, key),) = comparison.receive("key", {"key": other._secret.public_key.to_base64()})
    assert len(comparison.emoji) == 7
    assert key["key"] == comparison._secret.public_key.to_base64()
    ((kind, body),) = comparison.receive("mac", {"mac": {"ed25519:PHONE": "x"}, "keys": "x"})
    assert (kind, body["code"], comparison.state) == ("cancel", "m.key_mismatch", "cancelled")


@pytest.mark.parametrize(
    ("kind", "content", "code"),
    [
        ("key", {"key": "x"}, "m.unexpected_message"),
        ("mac", {}, "m.unexpected_message"),
        ("start", START | {"method": "m.other"}, "m.unknown_method"),
        ("start", START | {"message_authentication_codes": ["hmac-sha256"]}, "m.unknown_method"),
        ("start", {}, "m.unknown_method"),
    ],
)
def test_what_does_not_belong_there_ends_the_comparison(kind, content, code):
    """Out of turn or with nothing in common: the other side is told, and nothing more is answered."""
    comparison = Comparison("t", *parties())
    ((answer, body),) = comparison.receive(kind, content)
    assert (answer, body["code"]) == ("cancel", code)
    assert comparison.receive("start", START) == []


def test_signatures_are_over_canonical_json():
    """Sorted keys, no spaces, letters as they are; what is unsigned does not count."""
    assert canonical({"b": 1, "a": "ñ"}) == '{"a":"ñ","b":1}'
    key = SigningKey(bytes(32))
    assert key.sign({"a": 1, "unsigned": {"x": 1}, "signatures": {}}) == key.sign({"a": 1})
    # RFC 8032 has no case of seed 0; the public key of seed 0 is widely published.
    assert key.public == "O2onvM62pC1io6jQKm8Nc2UyFXcd4kOmOsBIoYtZ2ik"
