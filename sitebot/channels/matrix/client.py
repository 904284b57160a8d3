"""The library's client made fit for a bot: key hygiene, one send at a time per room, no key half shared, no clear text.

Each method here stands against a defect of matrix-nio 0.26.0 that tests/matrix/test_keys.py reproduces. Nothing of our
own messages is known here.
"""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import nio
import structlog

from sitebot.channels.matrix.account import Account
from sitebot.channels.matrix.rooms import Room
from sitebot.channels.matrix.shield import ShieldedClient, without_malformed
from sitebot.channels.matrix.wire import NOT_A_HOMESERVER, asked
from sitebot.errors import ChannelError, Refused, Unreachable

log = structlog.get_logger(__name__)

#: No request lasts longer, its answer's body included; the library bounds neither transfers nor a sync without waiting.
LONGEST_REQUEST_S = 90
#: Burnt key ids skipped at most in one upload (see keys_upload).
SKIPS = 20


class BotClient(ShieldedClient):
    """Used by one process at a time for one device."""

    access_token: str

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._room_locks: defaultdict[str, asyncio.Lock] = defaultdict(asyncio.Lock)
        #: Rooms once seen encrypted; never taken out, whatever a server says later.
        self.seen_encrypted: set[str] = set()

    async def _send(self, *arguments: Any, **options: Any) -> Any:
        """Every request of the library passes here. A dead line must not end our listening, nor hold up a room."""
        async with asyncio.timeout(LONGEST_REQUEST_S):
            return await super()._send(*arguments, **options)

    def expect_rooms(self, rooms: Iterable[Room]) -> None:
        """Tell the library of rooms that a resumed sync does not name: 28 ms for 1,000 instead of 2 s of full state.

        The invited count too: the server's list of members leaves them out, and they could not read what awaits them.
        """
        for room in rooms:
            known = self.rooms.setdefault(room.id, nio.MatrixRoom(room.id, self.user_id, room.encrypted))
            for person, membership in room.people.items():
                known.add_member(person, None, None, membership == "invite")
            if room.encrypted:
                self.seen_encrypted.add(room.id)

    def _handle_olm_events(self, response: Any) -> None:
        super()._handle_olm_events(response)
        # nio takes a count of 0 for "not told" and never makes new one-time keys: a stranger can drain the 50 of an
        # offline bot, and it stays deaf for ever.
        if response.device_key_count.signed_curve25519 == 0:
            self.olm.uploaded_key_count = 0

    async def keys_upload(self) -> Any:
        """A crash between the server's yes and our own save leaves key ids that the server has and we do not.

        It then answers "One time key ... already exists" for ever (element-hq/synapse#19392 shows a client spinning on
        it). The burnt ids are skipped.
        """
        for _ in range(SKIPS):
            answer = await super().keys_upload()
            if not (isinstance(answer, nio.KeysUploadError) and "already exists" in (answer.message or "")):
                break
            self.olm.account.mark_keys_as_published()
            self.olm.save_account()
        return answer

    async def parse_body(self, transport_response: Any) -> dict[Any, Any]:
        """The JSON of an answer; of anything that no homeserver would say, an error.

        nio makes {} of a gateway's page and looks at no status: where {} means yes (a room's key passed on, an
        invitation declined, a message to a device) it takes a 502 for a yes.
        """
        try:
            body = await transport_response.json(content_type=None)
        except ValueError:  # among them bodies that are not JSON, or not even text
            body = None
        if isinstance(body, dict) and (transport_response.status < 400 or "errcode" in body):
            return without_malformed(body)
        return {"errcode": NOT_A_HOMESERVER, "error": f"status {transport_response.status} without words of Matrix"}

    async def receive_response(self, response: Any) -> None:
        """Take an answer in, and keep the token.

        nio builds ShareGroupSessionError with its arguments in the wrong places, so that each failed sharing of a key
        reads as a logout by the server, upon which it throws its access token away.
        """
        token = self.access_token
        await super().receive_response(response)
        self.access_token = self.access_token or token

    async def housekeeping(self) -> None:
        """What the library's own loop does besides syncing. A failure waits for the next round."""
        try:
            await self.send_to_device_messages()
            if self.should_upload_keys:
                await asked(self.keys_upload(), nio.KeysUploadResponse)
            if self.should_query_keys:
                await asked(self.keys_query(), nio.KeysQueryResponse)
            if self.should_claim_keys:
                await asked(self.keys_claim(self.get_users_for_key_claiming()), nio.KeysClaimResponse)
        except Unreachable as error:
            log.warning("key housekeeping put off", why=str(error))

    async def room_send(
        self,
        room_id: str,
        message_type: str,
        content: dict[Any, Any],
        tx_id: str | None = None,
        ignore_unverified_devices: bool = True,
    ) -> Any:
        """Send, encrypted where the room ever was; devices nobody has verified get the keys, as crews do not verify."""
        # nio has a race at the 100-message rotation: 250 sends at once gave 51 GroupEncryptionErrors without this lock.
        async with self._room_locks[room_id]:
            self.refuse_clear_text(room_id)
            # Else a member or device that has just appeared cannot read this message, even if we have synced the join.
            if self.should_query_keys:
                await asked(self.keys_query(), nio.KeysQueryResponse)
            return await super().room_send(room_id, message_type, content, tx_id, ignore_unverified_devices)

    async def share_group_session(self, room_id: str, ignore_unverified_devices: bool = True) -> Any:
        """Share the room's key with everybody or with nobody.

        nio marks the key as shared when the server has taken it for none (a 429, a gateway's page): the crew then could
        not read a single message of it. And a share that is cancelled leaves a mark on which later sends wait for ever.
        """
        try:
            answer = await super().share_group_session(room_id, ignore_unverified_devices)
        except BaseException:
            self.sharing_session.pop(room_id, None)
            self.olm.outbound_group_sessions.pop(room_id, None)
            raise
        if not self._all_have(room_id):
            self.olm.outbound_group_sessions.pop(room_id, None)
            raise Unreachable("The homeserver did not pass the room's key on")
        return answer

    def _all_have(self, room_id: str) -> bool:
        """Whether each device we can reach (a session exists) has been given the room's key."""
        session = self.olm.outbound_group_sessions[room_id]
        reached = session.users_shared_with | session.users_ignored
        return all(
            (user, device.id) in reached
            for user in self.rooms[room_id].users
            for device in self.device_store.active_user_devices(user)
            if device.id != self.device_id and self.olm.session_store.get(device.curve25519)
        )

    def refuse_clear_text(self, room_id: str) -> None:
        """Never clear text into a room once seen encrypted: nio sends it when its store is fresh; servers accept it."""
        if room_id not in self.seen_encrypted:
            return
        room = self.rooms.get(room_id)
        if self.olm is None or room is None:
            raise Refused(f"Room {room_id} is encrypted and this process cannot encrypt; nothing was sent")
        room.encrypted = True

    def encrypted(self, room_id: str) -> bool:
        """Whether a message to this room leaves us encrypted."""
        room = self.rooms.get(room_id)
        return room_id in self.seen_encrypted or bool(room and room.encrypted)


def open_client(account: Account, store: Path) -> BotClient:
    """The client of an account, its key store opened. Retries are ours (wire.py), so the library gets none."""
    config = nio.AsyncClientConfig(
        max_timeouts=0,
        max_limit_exceeded=0,
        request_timeout=30,
        pickle_key=account.passphrase,
        # Its own token is written before the messages are safe: 594 of 1,000 lost over 12 kills.
        store_sync_tokens=False,
        encryption_enabled=True,
    )
    client = BotClient(account.homeserver, account.user, device_id=account.device, store_path=str(store), config=config)
    try:
        client.restore_login(account.user, account.device, account.token)
    except Exception as error:  # a wrong passphrase or a damaged file: whatever the pickle reader raises
        raise ChannelError(
            f"The key store in {store} does not open ({type(error).__name__}). Was the passphrase changed?"
        ) from error
    return client
