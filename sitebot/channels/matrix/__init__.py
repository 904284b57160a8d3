"""Matrix: a contact that never loses a message, never answers twice, and that today's clients trust.

This package alone imports matrix-nio; nothing here understands a text or knows the trade. Importing the package itself
needs no extra library: the parts are loaded by the two functions below.

    channel    builds the parts          account    the account file, one owner per device
    ingest     the sync loop             login      asks for an account, makes the device
    backfill   what a sync leaves out    client     the library's client made fit for a bot
    events     JSON as values            shield     hostile events end in a frame
    reading    event -> Incoming         wire       answers and errors of the homeserver, waiting
    hearing    said to us? photos        cross_signing, sas, verification    trust
    awaited    the answer before the next sync
    unread     late keys                 rooms, recall, directory, invites   what is where
    sending    the outbox's way out      content, media, today, courtesy     what is seen
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from sitebot.errors import DataError

if TYPE_CHECKING:
    from sitebot.channels.matrix.channel import MatrixChannel
    from sitebot.channels.matrix.login import Console


def open_channel(
    store: Path, state: Mapping[str, str], knows: Callable[[str], bool], *, names: tuple[str, ...] = ()
) -> MatrixChannel:
    """The channel of the account in ``store``. ``state`` is what the last runs kept, ``knows`` asks the roster."""
    try:
        from sitebot.channels.matrix.channel import MatrixChannel
    except ImportError as error:
        raise missing(error) from error
    return MatrixChannel(store, state, knows, names=names)


async def log_in(console: Console, store: Path, *, reset_identity: bool = False) -> None:
    """Ask for an account and make this store its device: ``sitebot matrix login``."""
    try:
        from sitebot.channels.matrix.login import log_in as run
    except ImportError as error:
        raise missing(error) from error
    await run(console, store, reset_identity=reset_identity)


def missing(error: ImportError) -> DataError:
    return DataError(f"The Matrix channel needs its libraries ({error.name}). Install: pip install 'sitebot[matrix]'")
