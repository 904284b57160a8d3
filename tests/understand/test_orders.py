"""Short plain texts read whole: each sentence means what it says, and one word more makes it another text."""

from datetime import UTC, datetime

import pytest

from sitebot.understand import read
from sitebot.understand.context import Context
from sitebot.understand.findings import found_only
from sitebot.understand.orders import ordered
from sitebot.understand.weather import weather

ORDERS = {
    "Brief off please": ("plan_day", {"remind": False, "what": "brief"}),
    "resumen no": ("plan_day", {"remind": False, "what": "brief"}),
    "ya no me mandes el resumen": ("plan_day", {"remind": False, "what": "brief"}),
    "brief on": ("plan_day", {"remind": True, "what": "brief"}),
    "stop the evening ones": ("plan_day", {"remind": {"evening": False}}),
    "send me the report every day": ("ask_report", {"standing": True}),
    "no more reports": ("ask_report", {"standing": False}),
    "sin reporte diario": ("ask_report", {"standing": False}),
    "what's the seal?": ("ask_report", {"of": "seal"}),
    "map of ring wall A": ("ask_report", {"about": "map", "place": "ring wall A"}),
    "gráfica de rechazos": ("ask_report", {"about": "rejects"}),
    "quién suelda mejor?": ("ask_report", {"about": "welders"}),
    "who can't you reach?": ("ask_crew", {"unreached": True}),
    "show me the pics of 14 and 15": ("ask_report", {"about": "photos", "numbers": [14, 15]}),
    "foto del 14": ("ask_report", {"about": "photos", "numbers": [14]}),
    "add Nadia Ruiz, crew, 303 555 0177": (
        "set_crew",
        {"join": [{"name": "Nadia Ruiz", "role": "crew", "phone": "303 555 0177"}]},
    ),
    "agrega a Nadia Ruiz al equipo, su número es 303 555 0177": (
        "set_crew",
        {"join": [{"name": "Nadia Ruiz", "phone": "303 555 0177", "lang": "es"}]},
    ),
    "Luis's new number is 303 555 0188": ("set_crew", {"address": {"name": "Luis", "phone": "303 555 0188"}}),
    "mi numero nuevo es 303-555-0188": ("set_crew", {"address": {"name": "me", "phone": "303-555-0188"}}),
    "take Luis off the roster": ("set_crew", {"leave": ["Luis"]}),
    "borra mis datos": ("set_crew", {"erase": "me"}),
    "Beto is off tomorrow": ("plan_day", {"no_work": True, "who": ["Beto"], "date": "tomorrow"}),
    "add 2 butts to the plan for B3": ("plan_place", {"place": "B3", "more": {"butt": 2}}),
    "plan for B3 is 8 butts": ("plan_place", {"place": "B3", "kinds": {"butt": 8}}),
    "The plan for wall 2 is 8 butts, 2 flat corners and 1 tee": (
        "plan_place",
        {"place": "wall 2", "kinds": {"butt": 8, "flat_corner": 2, "tee": 1}},
    ),
    "plan for B3 is 8 butts, nothing else": ("plan_place", {"place": "B3", "kinds": {"butt": 8}, "only": True}),
    "el plan de B3 son 8 a tope y 2 tes": ("plan_place", {"place": "B3", "kinds": {"butt": 8, "tee": 2}}),
    "el plan de B3 son solo 8 rectos": ("plan_place", {"place": "B3", "kinds": {"butt": 8}, "only": True}),
}
ORDERS |= dict.fromkeys(
    ("lost power", "power is out!", "generator died", "se fue la luz", "estamos sin luz"),
    ("report_iron", {"event": "power_cut"}),
)
ORDERS |= dict.fromkeys(
    ("power is back", "ya volvió la luz", "ya arranco el generador"), ("report_iron", {"event": "power_back"})
)
NONE = [
    "iron 2 lost power",
    "power",
    "brief off and 3 butts",
    "everybody is off tomorrow",
    "the iron is off today",
    "the crew is out tomorrow",
    "add 3 butts",
    "send me todays report",
    "14 rejected, pores",
    "",
    "?",
    "seal is torn",
    "daily report pls",
]


@pytest.mark.parametrize("text", ORDERS)
def test_a_sentence_is_its_act(text):
    """Case, accents, marks and polite words change nothing; what fills a gap stays as it was written."""
    act = ordered(text)
    assert (act.name, act.facts) == ORDERS[text]


@pytest.mark.parametrize("text", NONE)
def test_anything_else_is_no_order(text):
    """Neither a word more nor everybody in place of somebody."""
    assert ordered(text) is None


WEATHER = {
    "34 degrees and light rain, tent up": {"air_f": 34, "rain": "light", "shelter": "tent"},
    "viento fuerte, carpa puesta": {"wind": "strong", "shelter": "tent"},
    "blowing 25 mph, pulled a tarp over": {"wind": "strong", "wind_mph": 25, "shelter": "tarp"},
    "raining hard, no cover": {"rain": "heavy", "shelter": "none"},
    "dry and calm, 70": {"air_f": 70, "rain": "none", "wind": "calm"},
    "it is 40 c and windy": {"air_f": 104, "wind": "strong"},
    "85% humidity": {"humidity": 85},
    # Neither scale is named, and both would do: the number is not guessed at.
    "esta a 2 grados y lloviznando": {"rain": "light"},
    "lloviendo": {"rain": "light"},
}


@pytest.mark.parametrize("text", WEATHER)
def test_weather_told_by_itself(text):
    """What was told, part by part; nothing that was not."""
    assert weather(text).facts == WEATHER[text]


@pytest.mark.parametrize(
    "text",
    ["rain tomorrow so no work", "can we weld in this rain?", "2 butts B3 in the tent", "370 dry", "95 out", "clear"],
)
def test_a_text_with_more_in_it_is_no_weather(text):
    """Work, questions, heats of an iron and one doubtful word are read as ever."""
    assert weather(text) is None


@pytest.mark.parametrize(
    ("text", "every"),
    [
        ("remind me every day at 3 to unplug", "day"),
        ("recuerdame todos los dias a las 3 desconectar", "day"),
        ("every friday at 2 remind me to change covers", "fri"),
        ("remind me at 3 to unplug", None),
    ],
)
def test_a_reminder_comes_back_where_somebody_said_so(text, every):
    """Every day, every Friday, or once."""
    (act,) = read(text, Context(datetime(2026, 4, 14, 9, tzinfo=UTC), role="lead")).acts
    assert (act.name, act.facts.get("every")) == ("plan_day", every)


FINDINGS = {
    "12 visual ok bend ok": {"numbers": [12], "visual": "ok", "bend": "ok", "verdict": "accept"},
    "bend test ok on 14 and 15": {"numbers": [14, 15], "bend": "ok"},
    "14 bend test cracked, reject": {"numbers": [14], "bend": "bad", "verdict": "reject", "defect": "separation"},
    "7 ribs ok bulb off": {"numbers": [7], "checks": {"ribs": "ok", "bulb": "bad"}},
    "prueba de doblez ok la 9": {"numbers": [9], "bend": "ok"},
    "visual bien, doblez bien la 9": {"numbers": [9], "visual": "ok", "bend": "ok", "verdict": "accept"},
}


@pytest.mark.parametrize("text", FINDINGS)
def test_findings_item_by_item(text):
    """Each item with its result; a verdict only where one was said or look and bend are both well."""
    assert found_only(text).facts == FINDINGS[text]


@pytest.mark.parametrize("text", ["14 ok", "14 rejected, pores", "is 14 bend ok?", "bend ok", "3 butts, bend ok on 2"])
def test_a_verdict_or_a_question_is_no_finding(text):
    """What names no item, no splice, or more than findings is read as ever."""
    assert found_only(text) is None
