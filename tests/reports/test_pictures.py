"""Charts and maps: sheets with the right words on them, inside their edges, in both languages."""

import io
from datetime import date, timedelta

import pytest
from PIL import Image

from sitebot.drawings import charts, charts_irons, maps
from sitebot.drawings.charts import DayMade, Finish, Judged
from sitebot.drawings.charts_irons import CoverStep, Reading
from sitebot.drawings.maps import LOOKS, Mark
from sitebot.drawings.scene import SHEET_WIDTH, Label
from sitebot.reports import typeset
from sitebot.trade.statistics import p_chart, wilson

MONDAY = date(2026, 6, 1)


def labels(sheet):
    return [s.text for s in sheet.shapes if isinstance(s, Label)]


def ends(label):
    """The two ends of a label; letters of the font are about 0.43 of their size wide."""
    length = 0.43 * label.size * len(label.text)
    start = label.at[0] + label.shift[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * length
    y = label.at[1] + label.shift[1]
    return (start, y), (start + length, y)


def points(sheet):
    return [p for s in sheet.shapes for p in (ends(s) if isinstance(s, Label) else s.points)]


def made(count):
    return [DayMade(MONDAY + timedelta(days=i), 5 + i % 4, i % 3 == 0) for i in range(count)]


def sheets(language):
    days = [Judged(MONDAY + timedelta(days=i), i % 3, 9) for i in range(25)]
    finish = Finish(MONDAY + timedelta(days=60), MONDAY + timedelta(days=64), MONDAY + timedelta(days=75))
    reads = [Reading(MONDAY.toordinal() + i / 3, str(i % 7), 355 + i) for i in range(30)]
    steps = {str(i): [CoverStep(MONDAY.toordinal() + d, d + i) for d in range(9)] for i in range(3)}
    marks = [Mark("butt", state, i) for i, state in enumerate(LOOKS)]
    return {
        "pace of one day": charts.pace(made(1), 10, None, language),
        "pace without a plan": charts.pace(made(30), 0, None, language),
        "pace with a finish": charts.pace(made(30), 400, finish, language),
        "pace with an open end": charts.pace(made(30), 400, Finish(finish.early, finish.likely, None), language),
        "pace of two years": charts.pace(made(700), 9000, None, language),
        "first pass, one week": charts.first_pass([Judged(MONDAY, 0, 1)], language),
        "first pass, a year": charts.first_pass(
            [Judged(MONDAY + timedelta(weeks=i), i % 4, 9) for i in range(52)], language
        ),
        "rejects of one day": charts.rejects([Judged(MONDAY, 1, 1)], language),
        "rejects of a month": charts.rejects(days, language),
        "one reading": charts_irons.heats(reads[:1], 360, 380, language),
        "readings of seven irons": charts_irons.heats(reads, 360, 380, language),
        "covers": charts_irons.covers(steps, 40, language),
        "an empty place": maps.place_maps("x", [], language)[0],
        "every state": maps.place_maps(
            "a place with a very long name, longer than sixty letters in all", marks, language
        )[0],
        "a long place": maps.place_maps("x", marks * 60, language)[-1],
    }


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("name", sheets("en"))
def test_nothing_is_drawn_beyond_the_sheet(name, language):
    """Every point and every label lies on the sheet, in each language."""
    sheet = sheets(language)[name]
    outside = [p for p in points(sheet) if not (-1 <= p[0] <= SHEET_WIDTH + 1 and -1 <= p[1] <= sheet.height + 1)]
    assert outside == []


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_chart_becomes_a_picture_1200_wide(language):
    """PNG of twice the size of the sheet, and not an empty one."""
    for sheet in sheets(language).values():
        image = Image.open(io.BytesIO(typeset.png(sheet)))
        assert (image.format, image.width, image.height) == ("PNG", 1200, pytest.approx(2 * sheet.height, abs=2))
        assert len(image.convert("RGB").getcolors(1 << 24)) > 10


def test_the_pace_says_when_it_is_likely_done():
    """The likely day and the span, in words and at the tip of the fan."""
    found = labels(sheets("en")["pace with a finish"])
    assert "Likely done Tue Aug 4, 80 in 100 from Fri Jul 31 to Sat Aug 15." in found
    assert "Tue Aug 4" in found


def test_the_first_pass_rate_has_its_interval():
    """81 of 263 with the limits printed in Newcombe 1998, table I: 25.53 and 36.62 %."""
    sheet = charts.first_pass([Judged(MONDAY, 100, 150), Judged(MONDAY + timedelta(weeks=1), 82, 113)], "en")
    assert "31% of 263 (26% to 37%)" in labels(sheet)
    assert wilson(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)


def test_days_beyond_the_control_limits_are_named():
    """The cans of Montgomery 1991, pp. 152-155: samples 15 and 23 are above the upper limit, and no other."""
    bad = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6]
    days = [Judged(MONDAY + timedelta(days=i), n, 50) for i, n in enumerate(bad)]
    sheet = charts.rejects(days, "en")
    assert "Outside the limits, look for a cause: Jun 15 and Jun 23." in labels(sheet)
    assert {"22 of 50", "24 of 50"} <= set(labels(sheet))
    assert p_chart(bad, [50] * 30).outside == (14, 22)


def test_a_steady_month_names_no_day():
    """Where all lie within the limits, the chart says so."""
    days = [Judged(MONDAY + timedelta(days=i), 1, 10) for i in range(20)]
    assert "Every day lies within the limits." in labels(charts.rejects(days, "en"))


def test_limits_of_a_few_days_are_called_a_trial():
    """Under 20 days the limits themselves are not sure yet."""
    days = [Judged(MONDAY + timedelta(days=i), 1, 10) for i in range(19)]
    assert "Every day lies within the limits. Limits for trial, under 20 days." in labels(charts.rejects(days, "en"))


def test_readings_on_the_limit_are_inside():
    """360 and 380 are in the band; 359 and 381 are not."""
    reads = [Reading(MONDAY.toordinal() + i, "1", t) for i, t in enumerate((359, 360, 380, 381))]
    assert "4 readings, 2 outside 360-380 F" in labels(charts_irons.heats(reads, 360, 380, "en"))


def test_each_state_has_a_look_of_its_own_without_colour():
    """Form, or an outline that is broken or hollow, tells the states apart on paper printed black and white."""
    looks = {(form, fill == "#ffffff", state == "planned") for state, (form, fill, _) in LOOKS.items()}
    assert len(looks) == len(LOOKS)


def grey(colour):
    r, g, b = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return 0.2126 * r**2.2 + 0.7152 * g**2.2 + 0.0722 * b**2.2


@pytest.mark.parametrize("state", LOOKS)
def test_letters_stand_out_from_their_marks(state):
    """Contrast of letter and mark is at least 3 (WCAG 2.2, 1.4.11, for graphics), also without colour."""
    _, fill, letter = LOOKS[state]
    high, low = sorted((grey(fill), grey(letter)), reverse=True)
    assert (high + 0.05) / (low + 0.05) >= 3


def test_a_map_letters_every_kind_in_its_language():
    """B for butt in English, R for recto in Spanish, and both in the legend."""
    marks = [Mark("butt", "accepted", 1), Mark("tee", "planned")]
    assert {"B", "T", "B  butt", "T  tee", "1"} <= set(labels(maps.place_maps("x", marks, "en")[0]))
    assert {"R", "R  recto", "T  te"} <= set(labels(maps.place_maps("x", marks, "es")[0]))


def test_kinds_never_share_a_letter():
    """One letter, one kind, in each language."""
    kinds = ("butt", "flat_corner", "edge_corner", "corner", "tee", "cross", "wye", "unknown")
    for language in ("en", "es"):
        assert len({maps.letter(k, language) for k in kinds}) == len(kinds)


def test_a_thousand_splices_all_stand_on_the_map():
    """On as many sheets as it takes, every number once."""
    found = [
        t for s in maps.place_maps("x", [Mark("butt", "accepted", n) for n in range(1, 1001)], "en") for t in labels(s)
    ]
    assert sorted(int(t) for t in found if t.isdigit()) == list(range(1, 1001))
