"""By hand: the modem's daemon is down for ten minutes on the real clock, with texts and a reminder coming meanwhile."""

import os
import re
import time
from collections import Counter
from contextlib import closing

import pytest

from sitebot.journal.check import check
from tests.sms.air import joined
from tests.sms.assistant import NUMBERS, Assistant
from tests.sms.conftest import need_daemon
from tests.sms.daemon import Daemon, Modem, until

#: How long it is away [s].
AWAY = int(os.environ.get("SITEBOT_AWAY", "600"))
#: The longest wait between two tries, and some time to send.
SOON = 330


def texts(modem, pattern):
    """What went over the air to Tobin and holds this; each as often as it went out."""
    return [m[0] for to, text in joined(modem.on_air()) if to == NUMBERS["Tobin"] and (m := re.search(pattern, text))]


@pytest.mark.long
def test_ten_minutes_without_a_daemon(tmp_path):
    """Six texts before, twelve that card and network hold meanwhile, a reminder: each answered once, in order."""
    need_daemon()
    modem = Modem(tmp_path)
    daemon = Daemon(tmp_path, modem.section, loopsleep=0)
    assistant = Assistant(tmp_path, daemon.smsdrc, replies_per_hour=1000)
    try:
        daemon.start()
        modem.ready()
        assistant.start().ready()
        modem.receive(NUMBERS["Tobin"], f"remind me in {max(AWAY // 120, 1)} minutes to change the cover")
        for number in range(1, 7):
            modem.receive(NUMBERS["Tobin"], f"#{number} butt ring wall A")
        until(lambda: len(texts(modem, r"^#\d+: 1 ")) == 6, 120, "six answers")
        daemon.kill()
        for number in range(7, 19):
            modem.receive(NUMBERS["Tobin"], f"#{number} butt ring wall A")
            time.sleep(AWAY / 12)
        assert assistant.process.poll() is None, "the assistant ended with its modem"
        with closing(assistant.journal()) as journal:
            print(f"away {AWAY} s; {journal.load().queued} messages wait to be sent", flush=True)
        daemon.start()
        back = time.monotonic()
        until(lambda: len(texts(modem, r"^#\d+: 1 ")) >= 18, SOON, "eighteen answers")
        print(f"all answered {time.monotonic() - back:.0f} s after it was back", flush=True)
        until(lambda: texts(modem, "^Reminder.*cover"), SOON, "the reminder")
    finally:
        assistant.stop()
        daemon.stop()
        modem.close()
    assert texts(modem, r"^#\d+: 1 ") == [f"#{n}: 1 " for n in range(1, 19)]
    assert Counter(assistant.splices().values()) == {"pending": 18}
    with closing(assistant.journal()) as journal:
        assert list(check(journal, "site")) == []
