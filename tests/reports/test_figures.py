"""What charts show, counted from the log."""

from datetime import date, timedelta

import pytest

from sitebot.drawings.charts import DayMade, Judged
from sitebot.drawings.charts_irons import CoverStep
from sitebot.entries import IronReported, SpliceVoided
from sitebot.reports import figures
from sitebot.reports.forecast import WorkDays, finish, student
from sitebot.site import Site
from tests.reports.conftest import DAY, PELL


def test_days_count_what_was_rejected_and_leave_out_what_is_void(day):
    """Six told, one void, one rejected: four good and one rejected."""
    made = day.reading(lambda desk, head: figures.days_made(desk.log.splices()))
    assert made == [DayMade(date.fromisoformat(DAY), 4, 1)]


def test_what_is_left_of_the_plan_is_counted_by_place_and_kind(day):
    """East wall lacks one butt, the south chamber its tee; work beyond the plan elsewhere makes up for nothing."""
    day.weld(9, "13:30", kind="flat_corner", place="east wall")
    left = day.reading(lambda desk, head: figures.remaining(desk.log, desk.log.splices()))
    assert left == 2


def test_first_passes_leave_redos_and_pending_ones_out(day):
    """1, 3 accepted and 2 rejected at the first inspection; the redo 4 is accepted too, and not counted."""
    day.judge(4, "accept", "14:00")
    weeks = day.reading(lambda desk, head: figures.first_passes(desk.log.splices()))
    assert weeks == [Judged(date(2026, 9, 14), 1, 3)]


def test_rejects_count_redos_like_any_weld(day):
    """The redo is a weld with a verdict."""
    day.judge(4, "accept", "14:00")
    assert day.reading(lambda desk, head: figures.rejects(desk.log.splices())) == [Judged(date(2026, 9, 15), 1, 4)]


def test_a_cover_is_counted_from_its_change(job):
    """Two welds, a new cover, one weld: 1, 2, then down to 0, then 1; a void weld wore nothing."""
    job.weld(1, "08:00", iron="1")
    job.weld(2, "09:00", iron="1")
    job.weld(3, "09:30", iron="1")
    job.tell("09:40", PELL, SpliceVoided(number=3))
    made_at = job.at("10:00").isoformat()
    job.tell("10:00", PELL, IronReported(day=DAY, made_at=made_at, event="cover_changed", iron="1"))
    job.weld(4, "11:00", iron="1")

    def steps(desk, head):
        return figures.covers(desk.log.iron_events(None), desk.log.splices(), desk.site.tz)

    base = date.fromisoformat(DAY).toordinal()
    assert job.reading(steps) == {
        "1": [CoverStep(base + h / 24, n) for h, n in ((8, 1), (9, 2), (10, 2), (10, 0), (11, 1))]
    }


def test_a_map_shows_each_splice_as_it_stands_and_what_is_still_planned(day):
    """Accepted, rejected and redone, damaged, pending, and one butt planned without a number."""
    marks = day.reading(lambda desk, head: figures.marks("east wall", desk.log))
    assert [(m.number, m.state) for m in marks] == [
        (1, "accepted"),
        (2, "redone"),
        (3, "damaged"),
        (4, "pending"),
        (None, "planned"),
    ]


def test_too_few_days_give_no_forecast():
    """Four days say nothing about the spread of a pace."""
    assert finish([8, 8, 8, 8], 40) is None


def test_a_standstill_gives_no_forecast():
    """Five days without a splice have no pace."""
    assert finish([0] * 5, 40) is None


def test_an_even_pace_gives_one_day():
    """Ten a day without spread: 40 more take four days, early and late alike."""
    assert finish([10] * 6, 40) == WorkDays(4, 4, 4)


def test_an_uneven_pace_gives_a_wider_span():
    """The same mean with more spread ends as likely on the same day, and may end later."""
    even, uneven = finish([9, 10, 11, 9, 10, 11], 100), finish([2, 18, 4, 16, 1, 19], 100)
    assert even.likely == uneven.likely == 10
    assert even.late - even.early < uneven.late - uneven.early


def test_four_in_five_finishes_lie_between_early_and_late():
    """Played 2,000 times with a pace drawn from one distribution, about 80 % of finishes are within the span."""
    import random

    chance = random.Random(11)
    within = 0
    for _ in range(2000):
        seen = [max(0, round(chance.gauss(10, 3))) for _ in range(12)]
        span = finish(seen, 150)
        days = total = 0
        while total < 150:
            total += max(0, round(chance.gauss(10, 3)))
            days += 1
        within += span.early <= days <= (span.late or 10**6)
    # Whole days at both ends make the span a little wider than asked for.
    assert 0.78 <= within / 2000 <= 0.90


@pytest.mark.parametrize(("freedom", "t"), [(4, 1.533), (9, 1.383), (20, 1.325), (120, 1.289)])
def test_students_t_as_printed(freedom, t):
    """Abramowitz and Stegun 1964, table 26.10, one tail of 10 %."""
    assert student(freedom) == pytest.approx(t, abs=0.006)


def test_the_finish_falls_on_a_work_day():
    """Days off and week-ends are passed over: six work days after a Friday, with a holiday in between."""
    site = Site(name="s", days_off=(date(2026, 7, 3),))
    found = figures.dated(WorkDays(1, 6, None), date(2026, 6, 26), site)
    assert (found.early, found.likely, found.late) == (date(2026, 6, 29), date(2026, 7, 7), None)


def test_a_calendar_without_work_days_ends_all_the_same():
    """Nothing runs for ever where every day is off."""
    off = tuple(date(2026, 1, 1) + timedelta(days=i) for i in range(4000))
    assert figures.dated(WorkDays(1, 2, 3), date(2026, 1, 1), Site(name="s", days_off=off)).early > date(2026, 6, 1)
