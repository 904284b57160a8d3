"""The emoji comparison (SAS) as a machine: events in, events out. No network, no room, no roster.

matrix-nio 0.26.0 cannot finish one with any other client: its commitment is hex (nio #570, #572), it announces one MAC
and computes another, and it numbers the emoji wrongly (nio #573). nio against nio passes, so its tests do not see it.
This machine has only our half: somebody else begins, we accept.

    state        receives   answers        next
    asked        start      accept         accepted
    accepted     key        key            compared   (the seven emoji are known)
    compared     mac        mac, done      finished
    any          cancel     -              cancelled
    any          else       cancel         cancelled
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import vodozemac
from nio.crypto.sas import Sas as EmojiTable

from sitebot.channels.matrix.cross_signing import canonical, unpadded
from sitebot.channels.matrix.events import at_path, text_at

State = Literal["asked", "accepted", "compared", "finished", "cancelled"]
Answers = list[tuple[str, dict[str, Any]]]

METHOD, AGREEMENT, HASH = "m.sas.v1", "curve25519-hkdf-sha256", "sha256"
#: The second is the older one, whose base64 is faulty and stays so for old clients.
MACS = ("hkdf-hmac-sha256.v2", "hkdf-hmac-sha256")


@dataclass(frozen=True, slots=True)
class Party:
    """One side: user, device, and the Ed25519 keys it vouches for, by key id ("ed25519:DEVICE")."""

    user: str
    device: str
    keys: Mapping[str, str]


class Refusal(Exception):
    """The exchange ends here; the code is one of the specification."""

    def __init__(self, code: str, reason: str) -> None:
        super().__init__(reason)
        self.code = code


@dataclass(slots=True)
class Comparison:
    """One exchange with one device."""

    flow: str
    us: Party
    them: Party
    state: State = "asked"
    mac: str = MACS[0]
    #: The seven emoji, once both keys are known.
    emoji: tuple[str, ...] = ()
    _secret: vodozemac.Sas = field(default_factory=vodozemac.Sas)
    _shared: vodozemac.EstablishedSas | None = None

    def receive(self, kind: str, content: Mapping[str, Any]) -> Answers:
        """What to answer to an event of the exchange; ``kind`` without ``m.key.verification.``."""
        if kind == "cancel":
            self.state = "cancelled"
        if self.state in ("finished", "cancelled"):
            return []
        steps = {("asked", "start"): self._accept, ("accepted", "key"): self._agree, ("compared", "mac"): self._finish}
        step = steps.get((self.state, kind))
        try:
            if step is None:
                raise Refusal("m.unexpected_message", f"{kind} was not expected now")
            return step(content)
        except Refusal as refusal:
            self.state = "cancelled"
            return [("cancel", {"code": refusal.code, "reason": str(refusal)})]

    def _accept(self, start: Mapping[str, Any]) -> Answers:
        macs = at_path(start, "message_authentication_codes")
        offered = [mac for mac in MACS if isinstance(macs, list) and mac in macs]
        agreements = at_path(start, "key_agreement_protocols")
        if text_at(start, "method") != METHOD or not offered or not isinstance(agreements, list):
            raise Refusal("m.unknown_method", "only m.sas.v1 is known here")
        if AGREEMENT not in agreements:
            raise Refusal("m.unknown_method", "no key agreement in common")
        self.mac, self.state = offered[0], "accepted"
        # "the hash (encoded as unpadded base64) of the concatenation of the device's ephemeral public key (encoded as
        # unpadded base64) and the canonical JSON representation of the start message's content"
        own = self._secret.public_key.to_base64()
        commitment = unpadded(hashlib.sha256((own + canonical(start)).encode()).digest())
        accepted = {
            "method": METHOD,
            "key_agreement_protocol": AGREEMENT,
            "hash": HASH,
            "message_authentication_code": self.mac,
            "short_authentication_string": ["emoji", "decimal"],
            "commitment": commitment,
        }
        return [("accept", accepted)]

    def _agree(self, content: Mapping[str, Any]) -> Answers:
        theirs, own = text_at(content, "key"), self._secret.public_key.to_base64()
        try:
            self._shared = self._secret.diffie_hellman(vodozemac.Curve25519PublicKey.from_base64(theirs))
        except Exception as error:  # vodozemac's classes of errors for keys are not all told
            raise Refusal("m.invalid_message", "not a key") from error
        sides = (self.them.user, self.them.device, theirs, self.us.user, self.us.device, own)
        info = "|".join(("MATRIX_KEY_VERIFICATION_SAS", *sides, self.flow))
        self.emoji = tuple(EmojiTable.emoji[index][0] for index in self._shared.bytes(info).emoji_indices)
        self.state = "compared"
        return [("key", {"key": own})]

    def _finish(self, content: Mapping[str, Any]) -> Answers:
        """They say the emoji match; their proof must hold for the device we know before we give ours."""
        macs = at_path(content, "mac")
        named = sorted(macs) if isinstance(macs, dict) else []
        self._check(",".join(named), "KEY_IDS", text_at(content, "keys"))
        device = f"ed25519:{self.them.device}"
        self._check(self.them.keys[device], device, text_at(macs, device))
        self.state = "finished"
        return [("mac", self._proof()), ("done", {})]

    def _check(self, value: str, name: str, proof: str) -> None:
        if not proof or proof != self._mac_of(value, name, self.them, self.us):
            raise Refusal("m.key_mismatch", f"{name} does not hold")

    def _proof(self) -> dict[str, Any]:
        """Our keys, the master key among them: so the person verifies the assistant, not just this device."""
        macs = {name: self._mac_of(key, name, self.us, self.them) for name, key in self.us.keys.items()}
        return {"mac": macs, "keys": self._mac_of(",".join(sorted(macs)), "KEY_IDS", self.us, self.them)}

    def _mac_of(self, value: str, name: str, sender: Party, receiver: Party) -> str:
        assert self._shared is not None
        parts = (sender.user, sender.device, receiver.user, receiver.device, self.flow, name)
        info = "MATRIX_KEY_VERIFICATION_MAC" + "".join(parts)
        if self.mac == MACS[0]:
            return self._shared.calculate_mac(value, info)
        return self._shared.calculate_mac_invalid_base64(value, info)
