"""The tests of the road once more, on PostgreSQL."""

from datetime import UTC, datetime

import pytest

from sitebot.demo import HERE
from sitebot.journal import Journal
from sitebot.site import read_site_file
from sitebot.stage import Stage
from tests.road.test_any_text import test_noise_on_a_real_site_leaves_the_log_alone
from tests.road.test_handle import *  # noqa: F403

__all__ = ["test_noise_on_a_real_site_leaves_the_log_alone"]


@pytest.fixture
def stage(postgres):
    """The demo site at 7:30 on a PostgreSQL database of its own."""
    site = read_site_file(HERE / "site.toml")
    start = datetime(2026, 4, 14, 7, 30, tzinfo=site.tz).astimezone(UTC)
    stage = Stage(site, start, Journal(postgres, b"k" * 32))
    stage.sent()
    yield stage
    stage.journal.close()
