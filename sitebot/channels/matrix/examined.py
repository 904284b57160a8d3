"""What the doctor asks about Matrix: is there an account, does its homeserver answer. Nothing is sent in its name."""

from __future__ import annotations

import json
import urllib.request
from collections.abc import Iterator
from pathlib import Path

from sitebot.channels.matrix import account
from sitebot.errors import SitebotError

PATIENCE_S = 10


def homeserver(store: Path) -> Iterator[tuple[str, str]]:
    """What was looked at, and what to do where it is not well; "" for well."""
    try:
        found = account.load(store)
    except SitebotError as error:
        yield "Matrix account", str(error)
        return
    yield "Matrix account", ""
    yield "homeserver", _answers(found.homeserver)


def _answers(address: str) -> str:
    if not address.startswith(("https://", "http://")):
        return f"{address} is no web address. Say: sitebot matrix login"
    try:
        with urllib.request.urlopen(f"{address}/_matrix/client/versions", timeout=PATIENCE_S) as answer:  # noqa: S310
            json.load(answer)["versions"]
    except (OSError, ValueError, KeyError) as error:
        return f"{address} does not answer ({type(error).__name__}). Is the network up? Else ask who runs it."
    return ""
