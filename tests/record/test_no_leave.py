"""No reply gives leave to pour: every reply to a pour question is read for it."""

import json
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sitebot.readout import read_one
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.wording.render import phrases

MESSAGES = Path(__file__).parent.parent / "messages"
LEAVE = re.compile(
    r"(?<!not )(?<!n't )\b(go ahead|you (can|may|could) (go ahead and )?pour|my (ok|okay|go|blessing)|"
    r"cleared to pour|good to pour|clear to pour|pour away|puede[ns]? (ya )?(colar|vaciar|fundir|hormigonar)|"
    r"adelante con el (colado|vaciado))\b|^\W*(yes|yep|sure|sí|si|claro|adelante)\b",
    re.IGNORECASE,
)
RULES = Rulebook.load(rules_folder())


def pour_questions():
    for path in sorted(MESSAGES.glob("[a-gi-ln-z].jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            if row["act"] in ("ask_pour", "plan_pour", "release_pour"):
                yield pytest.param(row, id=row["id"])


@pytest.mark.parametrize("row", list(pour_questions()))
def test_no_reply_to_a_labelled_question_gives_leave(row):
    """Whatever the question is taken for, the answer is no leave."""
    reply = read_one(row["text"], row["who"], RULES, datetime(2026, 4, 14, 15, 0, tzinfo=UTC))["reply"]
    assert not LEAVE.search(reply)


@pytest.mark.parametrize("language", ["en", "es"])
def test_no_phrase_about_pours_gives_leave(language):
    """Nor does any phrase that such an answer is made of."""
    found = [k for k, v in phrases(language).items() if k.startswith("pours.") and LEAVE.search(v)]
    assert found == []


ASKED = [
    "can we pour ring wall A",
    "ring wall A ok to pour?",
    "ya se puede colar ring wall A?",
    "pour ring wall A now?",
]


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize("who", ["Garrick", "Wilda", "Amaro"])
def test_no_reply_gives_leave_in_any_state_of_the_place(texts, asked, who):
    """Nothing made, waiting, rejected, complete, damaged: never a yes."""
    replies = [texts(who, asked)]
    for sender, text in [
        ("Tobin", "3 butts ring wall A"),
        ("Tobin", "1 flat corner ring wall A"),
        ("Ines", "1 2 3 ok, 4 rejected, pores"),
        ("Tobin", "redid 4"),
        ("Ines", "5 ok"),
        ("Tobin", "nail through 2"),
    ]:
        texts(sender, text)
        replies.append(texts(who, asked + " " * len(replies)))  # the same text in the same minute is one message
    assert all(replies)
    assert [r for r in replies if LEAVE.search(r)] == []
