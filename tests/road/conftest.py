"""A small invented site on a clock of its own."""

from datetime import UTC, datetime

import pytest

from sitebot.demo import HERE
from sitebot.site import read_site_file
from sitebot.stage import Stage


@pytest.fixture
def stage():
    site = read_site_file(HERE / "site.toml")
    stage = Stage(site, datetime(2026, 4, 14, 7, 30, tzinfo=site.tz).astimezone(UTC))
    stage.sent()  # the morning's reminders are not what these tests are about
    return stage


@pytest.fixture
def texts(stage):
    """Say something and get the replies to the sender."""

    def say(who, text):
        stage.sent()
        stage.say(who, text)
        return " ".join(o.text for _, o in stage.sent() if o.kind == "reply")

    return say
