"""The packed model is the one the training command makes, and the figures keep their floors."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sitebot.understand.model import packed
from tests.reading import leave_one_out
from tests.reading.slips import slipped
from tests.reading.train import AUTHORS, examples, labelled, train

FLOORS = json.loads((Path(__file__).parent / "floors.json").read_text(encoding="utf-8"))


def test_every_act_of_the_examples_can_be_chosen() -> None:
    """No example is lost in training."""
    assert {row["act"] for row in examples()} <= set(packed().acts)


def test_slips_are_the_same_each_time() -> None:
    """A seed gives the same slips, and numbers stay whole."""
    assert slipped("did two butts on wall 33", 4) == slipped("did two butts on wall 33", 4)
    assert "33" in slipped("did two butts on wall 33", 4)


@pytest.mark.long
def test_the_packed_model_is_the_trained_one() -> None:
    """One command makes the same weights again."""
    made = train([row for author in AUTHORS for row in labelled(author)])
    assert packed().weights == made.weights


@pytest.mark.long
def test_the_figures_keep_their_floors() -> None:
    """Leaving one hand out, the reader alone: the shares of each hand only get better."""
    shares = leave_one_out.measure(rules=None)
    assert set(shares) == set(FLOORS)
    for name, floor in FLOORS.items():
        assert shares[name]["right"] >= floor["right"] - 0.01, name
        assert shares[name].get("HARM", 0.0) <= floor["HARM"] + 0.01, name
        assert shares[name].get("asked", 0.0) <= floor["asked"] + 0.01, name
