"""The interfaces that aiosmpplib asks for, made when the library is there; all of them hand on to the line in smpp.py.

Comments that name a trap were measured on aiosmpplib 0.7.4. Nothing is decided here.
"""

from __future__ import annotations

import asyncio
import logging
from typing import TYPE_CHECKING, Any

import structlog

from sitebot.channels.sms import smpp_pdu
from sitebot.channels.sms.settings import SmppSettings

if TYPE_CHECKING:
    import aiosmpplib

    from sitebot.channels.sms.smpp import Smpp

log = structlog.get_logger(__name__)


def esme_of(
    library: Any, line: Smpp, settings: SmppSettings, queue: asyncio.Queue[Any], rebind_ms: int
) -> aiosmpplib.ESME:
    """The library's end of one link."""
    return _esme(library)(
        settings.host,
        settings.port,
        settings.system_id,
        settings.password.get_secret_value(),
        system_type=settings.system_type,
        enquire_link_interval=float(settings.enquire_s),
        socket_timeout=float(settings.timeout_s),
        log_level=logging.CRITICAL,
        hook=_hook(library, line),
        broker=_broker(library, line, queue),
        correlator=_correlator(library, settings.system_id),
        retry_timer=library.retrytimer.SimpleExponentialBackoff(min_delay=rebind_ms),
        # Decodes whatever octets come; what they mean is read by us.
        default_encoding="latin_1",
    )


def _esme(library: Any) -> type[aiosmpplib.ESME]:
    class Esme(library.ESME):  # type: ignore[misc]
        """Ends its tasks at once: the library gives each half a second, and leaves some running when cancelled."""

        async def _end_task(self, task: asyncio.Task[Any]) -> None:
            task.cancel()
            await asyncio.wait({task})
            error = None if task.cancelled() else task.exception()
            if error and not isinstance(error, OSError | EOFError):
                log.error("the SMPP link failed", reason=repr(error))

    return Esme


def _hook(library: Any, line: Smpp) -> aiosmpplib.AbstractHook:
    class Hook(library.AbstractHook):  # type: ignore[misc]
        async def sending(self, message: Any, pdu: bytes, client: str) -> None:
            if smpp_pdu.header_of(pdu).command == smpp_pdu.SUBMIT_SM:
                line.sending(pdu, message.log_id)

        async def received(self, message: Any, pdu: bytes, client: str) -> None:
            header = smpp_pdu.header_of(pdu)
            if header.command == smpp_pdu.DELIVER_SM:
                await line.delivered(pdu)
            elif header.command in (smpp_pdu.SUBMIT_SM | smpp_pdu.RESPONSE, smpp_pdu.GENERIC_NACK):
                line.answered(pdu)
            elif header.command in (0x80000001, 0x80000002, 0x80000009):
                line.bound(header.status)

        async def send_error(self, message: Any, error: Exception, client: str) -> None:
            line.not_sent(message.log_id, error)

    return Hook()


def _broker(library: Any, line: Smpp, queue: asyncio.Queue[Any]) -> aiosmpplib.AbstractBroker:
    class Broker(library.AbstractBroker):  # type: ignore[misc]
        async def enqueue(self, message: Any) -> None:
            raise NotImplementedError("messages are queued by the line")

        async def dequeue(self) -> Any:
            while not line.is_wanted((message := await queue.get()).log_id):
                continue
            return message

    return Broker()


def _correlator(library: Any, system_id: str) -> aiosmpplib.AbstractCorrelator:
    class Correlator(library.correlator.SimpleCorrelator):  # type: ignore[misc]
        """Remembers requests only: parts and receipts are joined and matched by us, where they are committed."""

        async def put_delivery_segmented(self, deliver_sm: Any) -> None:
            return None

        async def put_delivery(self, smsc_message_id: str, submit_sm: Any) -> None:
            return None

        async def get_delivery(self, receipt: Any) -> None:
            return None

    return Correlator(system_id)
