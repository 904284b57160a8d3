"""By hand: the modem's daemon is down for ten minutes on the real clock, with texts and a reminder coming meanwhile."""

import os
import re
import time
from collections import Counter
from contextlib import closing

import pytest

from sitebot.journal.check import check
from tests.sms.air import joined
from tests.sms.assistant import NUMBERS
from tests.sms.conftest import need_daemon
from tests.sms.daemon import until
from tests.sms.test_killed import Site

#: How long it is away [s].
AWAY = int(os.environ.get("SITEBOT_AWAY", "600"))
#: The longest wait between two tries, and some time to send.
SOON = 330


def texts(site, pattern):
    """What went over the air and holds this; each as often as it went out."""
    return [m[0] for _, text in joined(site.modem.on_air()) if (m := re.search(pattern, text))]


def answers(site):
    return texts(site, r"^#\d+: 1 ")


@pytest.mark.long
def test_ten_minutes_without_a_daemon(tmp_path):
    """Six texts before, twelve that card and network hold meanwhile, a reminder: each answered once."""
    need_daemon()
    site = Site(tmp_path)
    try:
        site.modem.ready()
        site.receive(NUMBERS["Tobin"], f"remind me in {max(AWAY // 120, 1)} minutes to change the cover")
        for number in range(1, 7):
            site.receive(NUMBERS["Tobin"], f"#{number} butt ring wall A")
        until(lambda: len(answers(site)) == 6, 120, "six answers")
        site.unwatch()
        for number in range(7, 19):
            site.receive(NUMBERS["Tobin"], f"#{number} butt ring wall A")
            time.sleep(AWAY / 12)
        assert site.assistant.process.poll() is None, "the assistant ended with its modem"
        site.watch()
        back = time.monotonic()
        until(lambda: len(set(answers(site))) == 18, SOON, "eighteen answers")
        print(f"away {AWAY} s; all answered {time.monotonic() - back:.0f} s after it was back", flush=True)
        until(lambda: texts(site, "^Reminder.*cover"), SOON, "the reminder")
    finally:
        site.close()
    told = Counter(answers(site))
    print("sent twice:", [text for text, times in told.items() if times > 1])
    assert told.keys() == {f"#{n}: 1 " for n in range(1, 19)}
    assert Counter(site.assistant.splices().values()) == {"pending": 18}
    with closing(site.assistant.journal()) as journal:
        assert list(check(journal, "site")) == []
