"""The hash chain: each entry carries the hash of itself and of the entry before, per site.

Pure: bytes in, hex out. What is hashed is the canonical JSON below and nothing else, so that anybody can check it.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Mapping
from typing import Any

#: The hash before the first entry.
GENESIS = "0" * 64


def sign(key: bytes, site: str, seq: int, head: str) -> str:
    """The signature of a head: how many entries, and the hash of the last (HMAC-SHA256, RFC 2104)."""
    return hmac.new(key, canonical({"site": site, "seq": seq, "hash": head}).encode(), hashlib.sha256).hexdigest()


def canonical(body: Mapping[str, Any]) -> str:
    """One JSON text for one value: sorted keys, no spaces, no escapes but the needed ones."""
    return json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def link(before: str, *, site: str, seq: int, at: str, kind: str, body: str, person: str, cause: int) -> str:
    """The hash of an entry behind the hash of the one before it; ``at`` as it is stored."""
    head = canonical(
        {
            "before": before,
            "site": site,
            "seq": seq,
            "at": at,
            "kind": kind,
            "person": person,
            "cause": cause,
        }
    )
    return hashlib.sha256(f"{head}\n{body}".encode()).hexdigest()
