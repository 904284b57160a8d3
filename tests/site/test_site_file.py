"""The site file: read whole, faults all at once, changes become entries."""

from datetime import UTC, datetime

import pytest

from sitebot.demo import HERE
from sitebot.errors import DataError
from sitebot.hours import days_of
from sitebot.journal import Journal
from sitebot.numbers import e164
from sitebot.site import read_site_file, site_of
from sitebot.stage import load_site

NOW = datetime(2026, 4, 14, 15, 0, tzinfo=UTC)


def test_the_example_is_a_site_file():
    """The file that newcomers copy loads."""
    site = read_site_file(HERE / "site.toml")
    assert [p.name for p in site.people] == ["Wilda", "Amaro", "Tobin", "Ines", "Garrick"]
    assert site.places[0].kinds == {"butt": 3, "flat_corner": 1}


def test_all_faults_are_told_at_once_with_key_and_remedy():
    """Five faults in one file: five lines, each with its key and what to do."""
    raw = {
        "name": "x",
        "zone": "America/Nowhere",
        "color": "red",
        "shift": {"start": "7", "days": "mon-frx"},
        "people": [{"name": "A", "role": "boss"}],
    }
    with pytest.raises(DataError) as error:
        site_of(raw, "job.toml")
    lines = str(error.value).splitlines()
    assert len(lines) == 5
    for key in ("zone", "color", "shift.start", "shift.days", "people[0].role"):
        assert any(line.startswith(f"job.toml: {key}:") for line in lines), key
    assert all(line.rstrip(".").split(". ")[-1] for line in lines)


def test_names_given_twice_and_wrong_phones_are_told():
    """Two people of one name, and a phone that is none."""
    raw = {"name": "x", "people": [{"name": "A", "role": "crew", "phone": "12"}, {"name": "A", "role": "lead"}]}
    with pytest.raises(DataError, match="no phone number") as error:
        site_of(raw, "job.toml")
    assert "'A' stands there twice" in str(error.value)


def test_a_broken_file_names_its_line(tmp_path):
    """A file that is no TOML says where."""
    path = tmp_path / "job.toml"
    path.write_text('name = "x"\nzone = \n')
    with pytest.raises(DataError, match="line 2"):
        read_site_file(path)


def test_loading_twice_changes_nothing():
    """The same file again writes no entry; a changed role writes one."""
    site = read_site_file(HERE / "site.toml")
    journal = Journal("sqlite://")
    journal.migrate()
    with journal.turn("s", NOW) as turn:
        assert load_site(turn, site) == 1 + 5 + 2
    with journal.turn("s", NOW) as turn:
        assert load_site(turn, site) == 0
    people = [p.model_copy(update={"role": "lead"}) if p.name == "Tobin" else p for p in site.people]
    with journal.turn("s", NOW) as turn:
        assert load_site(turn, site.model_copy(update={"people": tuple(people)})) == 1
        assert {p.name: p.role for p in turn.log.people()}["Tobin"] == "lead"


@pytest.mark.parametrize(
    ("text", "days"),
    [("mon-fri", {0, 1, 2, 3, 4}), ("sat", {5}), ("fri-mon", {4, 5, 6, 0}), ("mon,wed sat-sun", {0, 2, 5, 6})],
)
def test_days_of_the_week(text, days):
    """Ranges and lists of weekdays, also over the weekend."""
    assert days_of(text) == days


@pytest.mark.parametrize("text", ["303-555-0110", "(303) 555 0110", "+1 303 555 0110", "1 303 555 0110"])
def test_phones_as_people_write_them(text):
    """One number however it is written."""
    assert e164(text, "US") == "+13035550110"


def test_phones_that_are_none_and_one_that_two_have():
    """A short code, a number without area, an emergency number, a name, and a number given twice: each named."""
    people = [
        {"name": "Ana", "role": "lead", "phone": "303-555-0110"},
        {"name": "Beto", "role": "crew", "phone": "72345"},
        {"name": "Cy", "role": "crew", "phone": "555-0142"},
        {"name": "Dag", "role": "crew", "phone": "911"},
        {"name": "Eli", "role": "crew", "phone": "1-800-FLOWERS"},
        {"name": "Fay", "role": "crew", "phone": "+1 303 555 0110"},
    ]
    with pytest.raises(DataError) as error:
        site_of({"name": "x", "people": people}, "site.toml")
    lines = str(error.value).splitlines()
    assert [line.split(".phone")[0] for line in lines] == [f"site.toml: people[{i}]" for i in range(1, 6)]
    assert all("Write it whole, as +1 303 555 0110." in line for line in lines[:4])
    assert "is Ana's number too" in lines[4]


def test_who_has_no_language_of_his_own_is_written_to_in_the_sites():
    """On a Spanish site a person without a language reads Spanish, one with English stays with it."""
    people = [{"name": "Amaro", "role": "crew"}, {"name": "Tobin", "role": "crew", "language": "en"}]
    site = site_of({"name": "Tank", "language": "es", "people": people}, "test")
    assert [p.language for p in site.people] == ["es", "en"]
