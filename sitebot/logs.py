"""Logs as JSON lines, one event a line: no text of a person can forge a line, no secret gets into one.

Texts and names are never logged; a message is named by its site and row.
"""

from __future__ import annotations

import logging
import re
import sys
from collections.abc import MutableMapping
from typing import Any

import structlog

#: Keys whose value is a secret, whatever it is.
SECRET = re.compile(r"password|passphrase|secret|token|api_?key|authorization|signature", re.IGNORECASE)
#: The password of a database address or of a login.
IN_ADDRESS = re.compile(r"(?P<head>\b[a-z][a-z0-9+.-]*://[^\s:/@]*:)[^\s@]+(?=@)")
HIDDEN = "(hidden)"

Event = MutableMapping[str, Any]


def hide_secrets(_: object, __: str, event: Event) -> Event:
    """Values of secret keys, and passwords inside addresses, are left out."""
    for key, value in event.items():
        if SECRET.search(key):
            event[key] = HIDDEN
        elif isinstance(value, str):
            event[key] = IN_ADDRESS.sub(rf"\g<head>{HIDDEN}", value)
    return event


def set_up(level: str = "info") -> None:
    """Our events, and those of the libraries, on stderr."""
    before: list[structlog.typing.Processor] = [
        structlog.contextvars.merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        # A traceback without the values in it: they are people's texts.
        structlog.processors.format_exc_info,
        hide_secrets,
    ]
    number = logging.getLevelNamesMapping()[level.upper()]
    structlog.configure(
        processors=[*before, structlog.processors.JSONRenderer()],
        wrapper_class=structlog.make_filtering_bound_logger(number),
        logger_factory=structlog.WriteLoggerFactory(sys.stderr),
    )
    handler = logging.StreamHandler(sys.stderr)
    renderer = structlog.stdlib.ProcessorFormatter(
        foreign_pre_chain=before,
        processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, structlog.processors.JSONRenderer()],
    )
    handler.setFormatter(renderer)
    logging.basicConfig(handlers=[handler], level=max(number, logging.WARNING), force=True)
