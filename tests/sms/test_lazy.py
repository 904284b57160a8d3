"""A base install has no SMPP and no HTTP library; the channel and its texts work without them."""

import subprocess
import sys


def test_libraries_of_lines_are_not_needed():
    """Only asking for a line that needs them says what to install."""
    code = """
import sys
for name in ("aiohttp", "aiosmpplib", "psycopg"):
    sys.modules[name] = None
import sitebot.channels.sms.channel, sitebot.channels.sms.modem, sitebot.channels.sms.watchdog
from sitebot.channels.sms.channel import line_of
from sitebot.channels.sms.settings import SmsSettings
from sitebot.errors import DataError
smpp = {"kind": "smpp", "host": "h", "system_id": "s", "password": "p"}
hook = {"kind": "webhook", "public_url": "https://h", "signature": "url-form", "secrets": ["s"], "send_url": "https://h"}
for line in (smpp, hook):
    try:
        line_of(SmsSettings.model_validate({"line": line}), {})
    except DataError as error:
        assert "pip install 'sitebot[sms]'" in str(error)
        print("told")
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.split() == ["told", "told"]
