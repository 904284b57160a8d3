"""The settings of the SMS channel, as they stand in the machine's settings under ``[sms]``. Values only."""

from __future__ import annotations

from datetime import time
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, SecretStr, field_validator, model_validator

from sitebot.numbers import e164


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class ModemSettings(_Strict):
    """A modem on gammu-smsd: its configuration file says where its tables are and under what name it sends."""

    kind: Literal["modem"] = "modem"
    smsdrc: Path
    #: How often its tables are looked at [s].
    poll_s: float = Field(default=0.5, gt=0, le=30)
    #: How long the daemon's tables keep what was read and sent [days]; 0: for ever.
    keep_days: int = Field(default=30, ge=0)
    #: Where the daemon's tables are instead, as an SQLAlchemy URL; empty: as smsdrc says.
    database: SecretStr = SecretStr("")


class SmppSettings(_Strict):
    """A link to a carrier or aggregator by SMPP 3.4."""

    kind: Literal["smpp"] = "smpp"
    host: str
    port: int = Field(default=2775, ge=1, le=65535)
    #: At most 15 and 8 characters (SMPP 3.4, 4.1.1).
    system_id: str = Field(max_length=15)
    password: SecretStr = Field(max_length=8)
    system_type: str = Field(default="", max_length=12)
    #: Ask the other side whether it lives, this often [s].
    enquire_s: float = Field(default=30.0, gt=0)
    timeout_s: float = Field(default=10.0, gt=0)
    #: What data_coding 0 means over there; the standard leaves it open.
    alphabet: Literal["gsm7", "latin1", "ascii"] = "gsm7"
    #: How long an acknowledgement waits for a commit that fails before the link is dropped [s].
    hold_s: float = Field(default=30.0, ge=0)
    #: Codes of the other side that mean the number has opted out; the standard has none.
    opted_out: tuple[int, ...] = ()


class Names(_Strict):
    """What the provider calls things; a dot goes into an object or list ("data.0.from"), a star stands for 0 to 5."""

    id: str = "id"
    sender: str = "from"
    to: str = "to"
    text: str = "text"
    at: str = "timestamp"
    media: str = "media"
    status: str = "status"
    error: str = "error_code"
    #: Our reference in a status, where the provider gives it back.
    ref: str = "client_ref"


class WebhookSettings(_Strict):
    """A provider that posts texts to us and takes them by HTTP; everything that differs between providers is here."""

    kind: Literal["webhook"] = "webhook"
    listen_host: str = "127.0.0.1"
    listen_port: int = Field(default=8080, ge=0, le=65535)
    #: The address under which the provider knows us, without path: it is part of some signatures.
    public_url: str = Field(pattern=r"^https?://[^/]+$")
    heard_path: str = "/sms/in"
    status_path: str = "/sms/status"
    #: timestamp-body: HMAC-SHA256 of "timestamp.body"; url-form: HMAC-SHA1 of URL and sorted form fields.
    signature: Literal["timestamp-body", "url-form"]
    signature_header: str = "X-Signature"
    timestamp_header: str = "X-Timestamp"
    #: Two are accepted while a secret is being replaced.
    secrets: tuple[SecretStr, ...] = Field(min_length=1, max_length=2)
    #: How old a signed request may be [s].
    skew_s: int = Field(default=300, ge=10, le=3600)
    heard: Names = Names()
    #: Names in the answer to a sent message and in its fields: id, to, text, ref, media; "" leaves a field out.
    sent: Names = Names(ref="client_ref")
    send_url: str = Field(pattern=r"^https?://")
    send_form: bool = False
    #: Header fields of each request to the provider, such as its authorization.
    send_headers: dict[str, SecretStr] = Field(default_factory=dict)
    #: Fixed fields of each message, such as the number it comes from.
    send_fields: dict[str, str] = Field(default_factory=dict)
    idempotency_header: str = "Idempotency-Key"
    timeout_s: float = Field(default=10.0, gt=0)
    #: Provider's words for what became of a message.
    delivered: tuple[str, ...] = ("delivered",)
    failed: tuple[str, ...] = ("failed", "undelivered", "rejected", "expired")
    accepted: tuple[str, ...] = ("sent", "sending", "accepted")
    #: Error codes of the provider that mean the number has opted out.
    opted_out: tuple[str, ...] = ()
    #: Hosts that pictures are fetched from (with ``send_headers``); none: pictures are left out.
    media_hosts: tuple[str, ...] = ()
    most_media_bytes: int = Field(default=5_000_000, ge=0)


LineSettings = Annotated[ModemSettings | SmppSettings | WebhookSettings, Field(discriminator="kind")]


class SmsSettings(_Strict):
    """The channel: what it says of itself, its courtesies, and its line."""

    line: LineSettings
    #: How the assistant calls itself, and whom to ask about it (a number or a name).
    name: str = "Sitebot"
    contact: str = ""
    #: Our own numbers; the first is shown as the sender where the line lets us say.
    own: tuple[str, ...] = ()
    #: Fold accents that GSM-7 lacks: one part holds 160 characters instead of 70.
    fold_accents: bool = True
    quiet_from: time = time(21, 0)
    quiet_to: time = time(8, 0)
    #: What the line may send; a plain number is commonly held to one part a second.
    parts_per_second: float = Field(default=1.0, gt=0)
    burst: int = Field(default=10, ge=3)
    #: 0: no cap.
    parts_per_day: int = Field(default=0, ge=0)
    replies_per_hour: int = Field(default=60, ge=1)
    strangers_per_hour: int = Field(default=4, ge=0)
    half_after_s: float = Field(default=60.0, gt=0)

    @model_validator(mode="before")
    @classmethod
    def _kind_by_default(cls, values: Any) -> Any:
        if isinstance(values, dict) and isinstance(line := values.get("line"), dict):
            return {**values, "line": {"kind": "modem", **line}}
        return values

    @field_validator("own")
    @classmethod
    def _as_e164(cls, numbers: tuple[str, ...]) -> tuple[str, ...]:
        # The channel has no region of its own: the country must stand there.
        read = [e164(n, "US") if n.strip().startswith("+") else None for n in numbers]
        wrong = [n for n, number in zip(numbers, read, strict=True) if number is None]
        if wrong:
            raise ValueError(f"{wrong[0]}: write own numbers as +1 and so on")
        return tuple(n for n in read if n)
