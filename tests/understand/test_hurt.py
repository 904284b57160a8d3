"""Somebody is hurt: first aid comes first, however it is said; burnt material is no burnt person."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from sitebot.understand import read
from sitebot.understand.context import Context, Gazetteer

CREW = Context(now=datetime(2026, 11, 25, 16, tzinfo=UTC), gazetteer=Gazetteer(people=("Tobin", "Amaro", "Ines")))
HURT = {
    "burns": [
        "somebody burned their thumb",
        "se quemo el pulgar",
        "amaro got burnt",
        "Amaro se quemó",
        "tobin burnt himself",
        "his finger is burnt pretty bad",
        "got hot plastic on his arm",
        "se me pegó el plástico en la mano",
        "ampolla en el dedo",
        "the new guy got burned",
    ],
    "electric": ["he got shocked by the cord", "me dio un toque la plancha"],
    "first_aid": ["cut my finger bad", "se cortó el dedo con el cutter", "tobin passed out", "se desmayó el muchacho"],
}
BURNT = [
    "burned in 4 butts on B3",
    "#4 got burnt on one edge",
    "se quemo la plancha",
    "se quemó el empalme 4",
    "I burned 3 splices",
    "hand welded 4, one burnt edge",
    "Tobin burned in 3 on floor joint",
    "la 3 quedo quemada en una cara",
    "leg 2 is burnt",
    "se quemo la 12 de Amaro",
    "the tee arm burned a bit",
]


@pytest.mark.parametrize(("topic", "text"), [(topic, text) for topic, texts in HURT.items() for text in texts])
def test_who_is_hurt_is_helped(topic: str, text: str) -> None:
    """A question of safety, with what happened."""
    act = read(text, CREW).acts[0]
    assert act.name == "ask_safety"
    assert act.facts["topic"] in (topic, "first_aid")


@pytest.mark.parametrize("text", BURNT)
def test_burnt_material_hurts_nobody(text: str) -> None:
    """Weld, iron or edge: never first aid."""
    assert "ask_safety" not in {a.name for a in read(text, CREW).acts}


def test_what_was_made_beside_it_is_kept() -> None:
    """Two butts and a burnt hand: help first, and the two butts are in the log."""
    reading = read("did 2 butts on wall B3 and tobin burned his hand", CREW)
    assert [a.name for a in reading.acts] == ["ask_safety", "report_splices"]
