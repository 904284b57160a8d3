"""What a start loads, so that the first message does not wait for it."""

import subprocess
import sys

#: A message answered after the warm-up, in a process of its own; prints each file of ours that it opened.
ANSWER = """
import sys
from datetime import UTC, datetime
from sitebot.demo import HERE
from sitebot.site import read_site_file
from sitebot.stage import Stage
start = datetime(2026, 4, 14, 14, tzinfo=UTC)
stage = Stage(read_site_file(HERE / "site.toml"), start)
stage.app.warm()
ours = ("rules/", "weights")
sys.addaudithook(lambda event, found: event == "open" and any(o in str(found[0]) for o in ours) and print(found[0]))
stage.say("Tobin", "2 butts ring wall A, iron 1, 370")
stage.say("Amaro", "cuantos llevamos hoy?")
print(*(out.text for _, out in stage.sent() if out.kind == "reply"))
"""


def test_the_first_message_opens_no_file_of_rules():
    """English and Spanish: lexicon, model and words are all there before anybody writes."""
    done = subprocess.run([sys.executable, "-c", ANSWER], capture_output=True, text=True, check=True)
    (only,) = done.stdout.splitlines()
    assert "#1, 2: 2 butts" in only
