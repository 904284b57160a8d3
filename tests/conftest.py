"""What all tests share: skips become failures in CI, so that nothing is passed over there unseen."""

import os
from datetime import UTC, datetime

import pytest
import structlog

from tests.databases import postgres_server

#: One PostgreSQL server for the whole run.
__all__ = ["postgres_server"]


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item, call):
    outcome = yield
    report = outcome.get_result()
    if report.skipped and os.environ.get("SITEBOT_NO_SKIPS") and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"skipped where nothing may be skipped: {report.longrepr}"


@pytest.fixture(autouse=True)
def logs_as_before():
    """A test that sets the logs up leaves no later one writing into its closed output."""
    yield
    structlog.reset_defaults()


@pytest.fixture
def stage():
    """The demo's site at 7:30 in the morning, on a clock of its own."""
    from sitebot.demo import HERE
    from sitebot.site import read_site_file
    from sitebot.stage import Stage

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
