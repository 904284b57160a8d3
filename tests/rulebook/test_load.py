"""Reading rule files: everything is read, then every fault is told with file, key and remedy."""

from __future__ import annotations

import pytest

from sitebot.errors import DataError
from sitebot.rulebook import Rulebook, check
from sitebot.rulebook.yaml_text import read_yaml, yaml_of

SOURCES = '- {name: Spec 1, title: A spec, url: "https://example.org", checked: 2026-11-25}\n'
GOOD = """\
id: practice.taps
kind: practice
words: {en: [water tap], es: [llave de agua]}
says: {en: Close it., es: Ciérrela.}
caution: {en: Slowly., es: Despacio.}
sources: common practice
cases:
  - {asked: how do i close the water tap, gives: value}
"""


@pytest.fixture
def folder(tmp_path):
    """A folder of rules with one good rule in it."""
    (tmp_path / "sources.yaml").write_text(SOURCES, encoding="utf-8")
    (tmp_path / "practice").mkdir()
    (tmp_path / "practice" / "taps.yaml").write_text(GOOD, encoding="utf-8")
    return tmp_path


def spoil(folder, old, new, name="other"):
    text = GOOD.replace("practice.taps", f"practice.{name}").replace(old, new)
    (folder / "practice" / f"{name}.yaml").write_text(text, encoding="utf-8")


def test_a_good_folder_has_no_fault(folder):
    """One whole rule: no fault, and it is found by its id."""
    assert check(folder) == []
    assert Rulebook.load(folder).rule("practice.taps").says.en == "Close it."


def test_all_faults_are_told_at_once(folder):
    """An unknown key, a language left out and a source without a date in three files: three lines."""
    spoil(folder, "kind: practice", "kind: practice\nmaxx: 3", "one")
    spoil(folder, ", es: Ciérrela.", "", "two")
    spoil(folder, "sources: common practice", 'sources: [{cite: "Spec 1"}]', "three")
    with pytest.raises(DataError) as error:
        Rulebook.load(folder)
    lines = str(error.value).splitlines()
    assert len(lines) == 3
    assert any("one.yaml: maxx:" in x and "take it out" in x for x in lines)
    assert any("two.yaml: says.es:" in x and "Add this key" in x for x in lines)
    assert any("three.yaml: sources" in x and "checked" in x for x in lines)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("id: practice.other", "id: practice.wrong", "Write practice.other"),
        ("sources: common practice", 'sources: [{cite: "Unknown paper, 3", checked: 2026-11-25}]', "sources.yaml"),
        ("Close it.", "Close at 20 °C.", "plain letters"),
        ("kind: practice", "kind: limit", "needs limits"),
        ("kind: practice", "kind: practice\nkind: safety", "stands in line"),
        ("kind: practice", "kind: practice\nlimits: [{of: water, max: 3 gallons}]", "no amount"),
        ("kind: practice", "kind: practice\nlimits: [{of: water}]", "needs min or max"),
        ("gives: value", "gives: no", "its answers give value"),
        ("[water tap]", "[pump]", "a search finds"),
    ],
)
def test_a_fault_names_its_remedy(folder, old, new, told):
    """Each kind of fault is told with the file and what to do."""
    spoil(folder, old, new)
    (folder / "practice" / "taps.yaml").unlink()
    faults = check(folder)
    assert len(faults) == 1
    assert "other" in faults[0]
    assert told in faults[0]


def test_a_folder_without_rules_is_a_fault(tmp_path):
    """No file at all: the fault names the folder or the missing list of sources."""
    assert check(tmp_path) != []


def test_yaml_is_read_as_text():
    """no, 1:30 and 4 stay what stands on the page."""
    assert yaml_of("a: no\nb: [1:30, 4, si]", "x.yaml") == {"a": "no", "b": ["1:30", "4", "si"]}


@pytest.mark.parametrize("text", ["a: 1\nb: 2\na: 3", "x: {k: 1, k: 2}", "- {k: 1, k: 2}"])
def test_a_key_given_twice_is_an_error(text):
    """At the top or deep inside: the key, its line and the other line are named."""
    with pytest.raises(DataError, match="stands in line"):
        yaml_of(text, "x.yaml")


@pytest.mark.parametrize("text", ["a: [1", "\t- x", "a: b: c"])
def test_broken_yaml_names_its_line(text):
    """A file that is no YAML is a DataError with the place in it."""
    with pytest.raises(DataError, match=r"line 1.*not YAML"):
        yaml_of(text, "x.yaml")


def test_a_tag_builds_nothing():
    """A tag that would build an object in other loaders leaves a plain map or text here."""
    found = yaml_of("a: !!python/object/apply:os.getcwd []\nb: !!int 4", "x.yaml")
    assert found == {"a": [], "b": "4"}


def test_a_file_that_cannot_be_read_is_told(tmp_path):
    """No file, or not UTF-8."""
    with pytest.raises(DataError, match="Put the file there"):
        read_yaml(tmp_path / "none.yaml")
    (tmp_path / "latin.yaml").write_bytes("a: caf\xe9".encode("latin-1"))
    with pytest.raises(DataError, match="UTF-8"):
        read_yaml(tmp_path / "latin.yaml")
