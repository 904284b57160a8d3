"""Hostile events: none of them may leave the library as an exception out of a sync, and none may hide its neighbours.

matrix-nio 0.26.0 lets a stranger who shares no room with us end its loop with one message to our device: vodozemac
raises errors that nio does not expect (nio's issues know the kind: #358; tests/matrix/test_attacks.py has the cases).
With a sync token kept only after the messages are safe, such a bot would meet the same event again after each restart.
Only the places where the library hands one foreign event or key to its crypto are wrapped; nothing is decided here.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from typing import Any

import nio
import structlog
import vodozemac
from nio.exceptions import EncryptionError

log = structlog.get_logger(__name__)


class ShieldedClient(nio.AsyncClient):  # type: ignore[misc]
    """The library's client, with every foreign event in a frame of its own."""

    def load_store(self) -> None:
        fresh = self.olm is None
        super().load_store()
        if fresh and self.olm is not None:
            shield(self.olm)

    def _handle_timeline_event(self, event: Any, room_id: str, room: Any, encrypted_rooms: set[str]) -> Any:
        try:
            return super()._handle_timeline_event(event, room_id, room, encrypted_rooms)
        except Exception as error:
            dropped("timeline event", event, error)
            return None


def shield(olm: Any) -> None:
    """Wrap the entrances of the library's crypto machine."""
    olm.decrypt_event = quiet(olm.decrypt_event, "event")
    olm.handle_to_device_event = quiet(olm.handle_to_device_event, "message to our device")
    olm.decrypt_megolm_event = readable_or_encryption_error(olm.decrypt_megolm_event)
    # We answer verifications ourselves (verification.py); the library's own half answers would disturb them.
    olm.handle_key_verification = lambda event: None
    olm._handle_key_query = only_sound_devices(olm._handle_key_query)
    olm._handle_key_claiming = one_claim_at_a_time(olm._handle_key_claiming)


def quiet(original: Callable[..., Any], what: str) -> Callable[..., Any]:
    """None instead of an exception."""

    def shielded(event: Any, *rest: Any) -> Any:
        try:
            return original(event, *rest)
        except Exception as error:
            dropped(what, event, error)
            return None

    return shielded


def readable_or_encryption_error(original: Callable[..., Any]) -> Callable[..., Any]:
    """The library expects one class of error from here, and vodozemac, json and assert have others."""

    def shielded(event: Any, room_id: str | None = None) -> Any:
        try:
            return original(event, room_id)
        except EncryptionError:
            raise
        except Exception as error:
            raise EncryptionError(f"malformed encrypted event: {error!r}") from error

    return shielded


def only_sound_devices(original: Callable[..., None]) -> Callable[..., None]:
    """A room member with broken device keys must not keep the others from reading.

    Found here: keys of garbage of one member end the library's key query, and with it every send to that room.
    """

    def shielded(response: Any) -> None:
        response.device_keys = {
            user: {device: keys for device, keys in devices.items() if is_sound(user, device, keys)}
            for user, devices in response.device_keys.items()
        }
        original(response)

    return shielded


def is_sound(user: str, device: str, payload: Any) -> bool:
    """Whether a device's keys name their owner and can be read as keys at all."""
    try:
        keys = payload["keys"]
        vodozemac.Ed25519PublicKey.from_base64(keys[f"ed25519:{device}"])
        vodozemac.Curve25519PublicKey.from_base64(keys[f"curve25519:{device}"])
        return bool(payload["user_id"] == user and payload["device_id"] == device)
    except Exception as error:
        log.warning("device with broken keys", user=user, device=device, error=repr(error))
        return False


def one_claim_at_a_time(original: Callable[..., None]) -> Callable[..., None]:
    """Hand claimed one-time keys over device by device, for the same reason."""

    def shielded(response: Any) -> None:
        for user, devices in response.one_time_keys.items():
            for device, keys in devices.items():
                single = copy(response)
                single.one_time_keys = {user: {device: keys}}
                try:
                    original(single)
                except Exception as error:
                    log.warning("unreadable one-time key", user=user, device=device, error=repr(error))

    return shielded


def without_malformed(body: dict[str, Any]) -> dict[str, Any]:
    """An answer of the homeserver without events whose frame is none (a remote server may let one through).

    The library fails on the whole sync at a single timestamp that is a text, and would be given it again for ever.
    """
    found = body.get("rooms")
    rooms: dict[str, Any] = found if isinstance(found, dict) else {}
    joined, left, invited = (list((rooms.get(kind) or {}).values()) for kind in ("join", "leave", "invite"))
    for room in (*joined, *left):
        for part in ("timeline", "state"):
            keep_well_formed(room.get(part), "events")
    for room in invited:
        keep_well_formed(room.get("invite_state"), "events")
    keep_well_formed(body.get("to_device"), "events")
    keep_well_formed(body, "chunk")
    return body


def keep_well_formed(holder: Any, field: str) -> None:
    found = holder.get(field) if isinstance(holder, dict) else None
    if isinstance(found, list) and not all(map(has_frame, found)):
        log.warning("malformed events", count=sum(not has_frame(event) for event in found))
        holder[field] = [event for event in found if has_frame(event)]


def has_frame(event: Any) -> bool:
    """Whether the parts that a homeserver puts around a content have their types."""
    if not isinstance(event, dict):
        return False
    moment, unsigned = event.get("origin_server_ts", 0), event.get("unsigned", {})
    return (
        isinstance(event.get("type"), str)
        and isinstance(event.get("sender"), str)
        and isinstance(event.get("content"), dict)
        and isinstance(event.get("event_id", ""), str)
        and isinstance(event.get("state_key", ""), str)
        and isinstance(moment, int)
        and not isinstance(moment, bool)
        and isinstance(unsigned, dict)
    )


def dropped(what: str, event: Any, error: Exception) -> None:
    """Note a hostile event; its content is not logged."""
    log.warning("unreadable " + what, sender=getattr(event, "sender", None), error=repr(error))
