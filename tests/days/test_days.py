"""Whole scripted days through the program, scored as tests/days/README.md says; each day's floor only rises."""

import json
import shlex
import sys
from pathlib import Path

import pytest

from tests.scorers import score_days

HERE = Path(__file__).parent
FLOORS = json.loads((HERE / "floors.json").read_text())
COMMAND = f"{shlex.quote(sys.executable)} -m sitebot play"


@pytest.mark.parametrize("name", sorted(p.stem for p in HERE.glob("*.jsonl")))
def test_a_day_meets_its_floor(name):
    """So many expectations of the day are met as ever before, and the day has a floor."""
    total, faults = score_days.day(str(HERE / f"{name}.jsonl"), COMMAND, 120)
    assert total - len(faults) >= FLOORS[name], faults


@pytest.mark.parametrize("name", sorted(p.stem for p in (HERE / "own").glob("*.jsonl")))
def test_a_day_of_our_own_is_whole(name):
    """Release, damage, pours, two crews at night, clock changes, samples, weather, people: nothing is missed."""
    _, faults = score_days.day(str(HERE / "own" / f"{name}.jsonl"), COMMAND, 120)
    assert faults == []


def test_a_script_that_is_none_is_told_line_by_line(tmp_path, capsys):
    """Two broken lines: both named, with what to do."""
    from sitebot.errors import DataError
    from sitebot.play import read_script

    path = tmp_path / "day.jsonl"
    path.write_text('{"roster": []}\n{broken\n[1,\n')
    with pytest.raises(DataError) as error:
        read_script(path)
    assert [line.split(": ")[1] for line in str(error.value).splitlines()] == ["line 2", "line 3"]
