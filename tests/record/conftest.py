"""Acts as the reader gives them, written by hand: what is tested here is the record, not the reading."""

import json

import pytest

from sitebot.acts import Act, Reading


def acts_of(text, _context):
    return Reading(acts=tuple(Act(name, facts) for name, facts in json.loads(text)))


@pytest.fixture
def does(stage):
    """Somebody does one thing; the replies to him."""

    def say(who, name, **facts):
        reader, stage.app.reader = stage.app.reader, acts_of
        stage.sent()
        stage.say(who, json.dumps([[name, facts]]))
        stage.app.reader = reader
        said = stage.sent()
        stage.others = {stage.name_of(o.address): o.text for _, o in said if o.kind != "reply"}
        return " ".join(o.text for _, o in said if o.kind == "reply")

    return say


@pytest.fixture
def log(stage):
    """Look at the log: ``log(lambda log: ...)``."""

    def look(use):
        with stage.journal.log(stage.name) as found:
            return use(found)

    return look
