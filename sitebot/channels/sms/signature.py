"""The two families of signatures that providers put on their posts. Pure; the secrets are settings.

A: HMAC-SHA256 over "timestamp.body", with the time in a header. B: HMAC-SHA1 over the public URL and the sorted fields
of the form. Both over what came, byte for byte, never over what was read from it.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from collections.abc import Sequence


def of_body(secret: bytes, timestamp: str, body: bytes) -> bytes:
    """Family A."""
    return hmac.new(secret, timestamp.encode() + b"." + body, hashlib.sha256).digest()


def of_form(secret: bytes, url: str, fields: Sequence[tuple[str, str]]) -> bytes:
    """Family B; ``url`` as the provider called it, which a proxy hides from us."""
    text = url + "".join(key + value for key, value in sorted(fields))
    return hmac.new(secret, text.encode(), hashlib.sha1).digest()


def matches(given: str, wanted: bytes) -> bool:
    """Is that the signature, in hex or base64? Compared in constant time."""
    given = given.strip().removeprefix("sha256=").removeprefix("v1=")
    candidates = [wanted.hex(), base64.b64encode(wanted).decode()]
    return any(hmac.compare_digest(given.encode(), c.encode()) for c in candidates)


def is_fresh(timestamp: str, now_s: float, skew_s: int) -> bool:
    """Is the time of signing near enough? In seconds or milliseconds since 1970."""
    try:
        signed = float(timestamp)
    except ValueError:
        return False
    return abs(now_s - (signed / 1000 if signed > 1e11 else signed)) <= skew_s
