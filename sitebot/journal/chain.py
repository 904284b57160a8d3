"""The hash chain: each entry carries the hash of itself and of the entry before, per site.

Pure: bytes in, hex out. What is hashed is the canonical JSON below and nothing else, so that anybody can check it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

#: The hash before the first entry.
GENESIS = "0" * 64


def canonical(body: Mapping[str, Any]) -> str:
    """One JSON text for one value: sorted keys, no spaces, no escapes but the needed ones."""
    return json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def link(before: str, *, site: str, seq: int, at: datetime, kind: str, body: str, person: str, cause: int) -> str:
    """The hash of an entry behind the hash of the one before it."""
    head = canonical(
        {
            "before": before,
            "site": site,
            "seq": seq,
            "at": at.astimezone(UTC).isoformat(timespec="microseconds"),
            "kind": kind,
            "person": person,
            "cause": cause,
        }
    )
    return hashlib.sha256(f"{head}\n{body}".encode()).hexdigest()
