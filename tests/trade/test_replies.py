"""Answers about cuts, power and readiness: what labelled messages say of a good reply, from perfectly read facts."""

import json
import re
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from sitebot.acts import Act
from sitebot.record import IronEvent, IronState
from sitebot.respond import cuts, power, ready, saw
from sitebot.respond.blank import BlankLog
from sitebot.respond.desk import Desk
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import Procedure, Profile, Site
from sitebot.wording.render import render_all

MESSAGES = Path(__file__).parents[1] / "messages"
HANDLERS = {"ask_cut": cuts.answer, "ask_power": power.answer, "ask_ready": ready.answer}
RULES = Rulebook.load(rules_folder())
NOW = datetime(2026, 3, 12, 6, 30, tzinfo=ZoneInfo("America/Phoenix"))
#: The reader's part, not the answer's: figures the label leaves out of its facts, or a joint only its words describe.
BEYOND_FACTS = {"b-007", "b-289"}


class Irons(BlankLog):
    """A log that knows irons and what was told of them."""

    def __init__(self, *irons, events=()):
        self.known, self.told = irons, events

    def irons(self):
        return self.known

    def iron_events(self, day):
        return [e for e in self.told if e.day == day]


def desk(log=None, now=NOW, **site):
    return Desk(now, now, None, Site(name="Mill Creek", zone="America/Phoenix", **site), log or BlankLog(), RULES)


def labelled():
    for path in sorted(MESSAGES.glob("[a-g,i-z].jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            if row["act"] in HANDLERS and row["id"] not in BEYOND_FACTS:
                yield row


def given(row):
    """The facts without what the answer has to work out."""
    left_out = {"miter_deg", "bevel_deg", "also", *(["inside_deg"] if row["outcome"] == "ask_back" else [])}
    return {k: v for k, v in row["facts"].items() if k not in left_out}


def figures(value):
    return sorted(x for x in (value if isinstance(value, list) else [value]) if x)


@pytest.mark.parametrize("row", list(labelled()), ids=lambda row: f"{row['id']} {row['text'][:60]}")
def test_reply_to_a_labelled_message(row):
    """The reply holds every figure asked for, none forbidden, in one SMS part or two, with the outcome labelled."""
    found = HANDLERS[row["act"]](Act(row["act"], given(row)), desk())
    assert found.outcome == row["outcome"]
    for key in ("miter_deg", "bevel_deg"):
        if row["facts"].get(key) is not None:
            assert figures(found.facts[key]) == figures(row["facts"][key])
    for language in ("en", "es") if row["lang"] == "mix" else (row["lang"],):
        reply = render_all(found.says, language)
        assert len(reply) <= 190
        assert render_all(found.why, language) or row["outcome"] == "ask_back"
        assert not [p for p in row["reply_never"] if re.search(p, reply, re.I)], reply
        if row["lang"] != "mix":
            assert [p for p in row["reply_has"] if not re.search(p, reply, re.I | re.S)] == [], reply


def said(handler, act, facts, language="en", **at):
    answer = HANDLERS[act](Act(act, facts), desk(**at))
    return render_all((*answer.says, *answer.aside), language)


def test_most_replies_fit_one_part():
    """Nineteen in twenty of the replies are one SMS part of 160 letters."""
    lengths = [
        len(
            render_all(
                HANDLERS[row["act"]](Act(row["act"], given(row)), desk()).says, "es" if row["lang"] == "es" else "en"
            )
        )
        for row in labelled()
    ]
    assert sum(length > 160 for length in lengths) <= len(lengths) / 20


def test_a_bare_number_names_both_results_and_both_readings():
    """60 may be a turn (30) or an inside angle (60): neither is taken, both are offered."""
    found = cuts.answer(Act("ask_cut", {"joint": "turn", "number_deg": 60, "plane": "flat"}), desk())
    assert found.outcome == "ask_back"
    first, second = (choice[0].facts for choice in found.asks.choices)
    assert (first["turn_deg"], second["inside_deg"]) == (60, 60)
    answers = [cuts.answer(Act("ask_cut", facts), desk()) for facts in (first, second)]
    assert [a.facts["miter_deg"] for a in answers] == [30, 60]
    assert re.findall(r"\d+ on each end", render_all(found.says, "en")) == ["30 on each end", "60 on each end"]


def test_bare_90_is_45():
    """90 turn or 90 inside is one corner."""
    assert cuts.answer(Act("ask_cut", {"joint": "turn", "number_deg": 90}), desk()).facts["miter_deg"] == 45


@pytest.mark.parametrize(
    "facts",
    [
        {"joint": "turn", "turn_deg": 200},
        {"joint": "turn", "turn_deg": 60, "inside_deg": 60},
        {"joint": "turn", "number_deg": 270},
        {"joint": "turn"},
        {"joint": "turn", "plane": "compound", "flat_turn_deg": 30},
        {"joint": "turn", "plane": "compound", "flat_turn_deg": 30, "edge_turn_deg": 95},
        {"joint": "wye", "legs_deg": [90, 90, 90]},
        {"joint": "tee", "plane": "compound"},
    ],
)
def test_what_cannot_be_cut_is_asked_back(facts):
    """No joint has these angles: a question, no figure."""
    found = cuts.answer(Act("ask_cut", facts), desk())
    assert found.outcome == "ask_back"
    assert "miter_deg" not in found.facts


def test_reverse_question_gives_the_turn():
    """Two ends already cut at 15 make a turn of 30."""
    found = cuts.answer(Act("ask_cut", {"joint": "turn", "miter_deg": 15}), desk())
    assert (found.facts["turn_deg"], found.facts["miter_deg"]) == (30, 15)


def test_an_edge_tee_is_tilted():
    """On edge the halves of a tee are blade tilts."""
    found = cuts.answer(Act("ask_cut", {"joint": "tee", "plane": "edge"}), desk())
    assert (found.facts["miter_deg"], found.facts["bevel_deg"]) == ([0], [45, 0])


def test_a_wide_wye_leaves_one_side_long():
    """Legs at 60, 60 and 240: the outer ones are cut back 60 and left long 30 on the wide side."""
    reply = said(cuts, "ask_cut", {"joint": "wye", "legs_deg": [60, 60, 240]})
    assert "60 back on the 60 side, 30 left long on the wide side" in reply


def test_the_mark_is_told_where_the_width_is_known():
    """A 9 in web at 45 is marked 9 in back; on metric papers in mm."""
    nine = {"profiles": (Profile(name="9 in", width_in=9),)}
    assert "Mark 9 in back" in said(cuts, "ask_cut", {"joint": "turn", "turn_deg": 90, "plane": "flat"}, **nine)
    metric = said(cuts, "ask_cut", {"joint": "turn", "turn_deg": 90, "plane": "flat"}, units="metric", **nine)
    assert "229 mm back" in metric


def test_a_site_without_field_fittings_hears_so():
    """Not allowed in the field: said with the cut; to be asked: a note for the first answer of the day."""
    assert "shop-made on this site" in said(cuts, "ask_cut", {"joint": "tee"}, field_fittings="not allowed")
    assert saw.fitting_note(desk()) is not None
    assert saw.fitting_note(desk(field_fittings="allowed")) is None


def test_why_gives_the_block_for_a_long_cut():
    """60 from square on a saw that stops at 45: a wedge of 15 and a swing of 45."""
    found = cuts.answer(Act("ask_cut", {"joint": "turn", "turn_deg": 120, "plane": "flat"}), desk())
    assert "15 deg wedge" in render_all(found.why, "en")
    assert "swing 45" in render_all(found.why, "en")


def test_the_sites_cord_and_heat_replace_common_practice():
    """A procedure with 50 ft and 340-360 F is what answers go by, and its paper is named."""
    own = {
        "cord": Procedure(value="50 ft", source="WPS 3"),
        "temperature": Procedure(value="340-360 F", source="WPS 3"),
        "preheat": Procedure(value="90 min", source="WPS 3"),
    }
    assert said(power, "ask_power", {"cord_ft": 75}, procedure=own).startswith("No: 75 ft (23 m) is over the 50 ft")
    assert said(ready, "ask_ready", {"temp_f": 345}, procedure=own).startswith("Yes")
    assert "8:00" in said(ready, "ask_ready", {"minutes_on": 0}, procedure=own)
    why = ready.answer(Act("ask_ready", {"temp_f": 345}), desk(procedure=own)).why
    assert "WPS 3" in render_all(why, "en")


@pytest.mark.parametrize("minutes", [0, 5, 30, 59, 60, 61, 90, 600])
@pytest.mark.parametrize("language", ["en", "es"])
def test_the_clock_alone_is_never_a_yes(minutes, language):
    """However long it was on, no yes without a reading or a melt test."""
    found = ready.answer(Act("ask_ready", {"minutes_on": minutes}), desk())
    assert found.facts["ready"] is False
    assert not re.match(r"(yes|s[ií]|ok|ready|list)\b", render_all(found.says, language), re.I)


@pytest.mark.parametrize(
    ("temp", "start"),
    [(359, "No"), (360, "Yes"), (370, "Yes"), (380, "Yes"), (381, "No, just over"), (455, "No, too hot")],
)
def test_readings_against_the_band(temp, start):
    """360 to 380 F, limits included."""
    assert said(ready, "ask_ready", {"temp_f": temp}).startswith(start)


def test_twelve_past_seven():
    """Plugged in at 6:12, asked at 6:30: not yet, about 7:12."""
    reply = said(ready, "ask_ready", {"plugged_at": "06:12"})
    assert reply.startswith("Not yet")
    assert "about 7:12" in reply


def test_the_log_tells_when_nobody_says():
    """Iron 2 plugged in at 6:10 in the log: not yet, about 7:10, and of iron 1 nothing is known."""
    log = Irons(IronState("2", True, NOW - timedelta(minutes=20)))
    assert "about 7:10" in said(ready, "ask_ready", {"iron": "2"}, log=log)
    assert said(ready, "ask_ready", {"iron": "1"}, log=log).startswith("No reading and no plug-in time here for iron 1")
    assert "about 7:10" in said(ready, "ask_ready", {}, log=log)


def test_a_fresh_reading_in_the_log_decides():
    """Read 368 F five minutes ago: yes; read an hour ago: read again."""
    fresh = Irons(IronState("2", True, NOW - timedelta(minutes=65), 368, NOW - timedelta(minutes=5)))
    old = Irons(IronState("2", True, NOW - timedelta(minutes=90), 368, NOW - timedelta(minutes=60)))
    assert said(ready, "ask_ready", {"iron": "2"}, log=fresh).startswith("Yes, iron 2: 368 F")
    assert "too old to say" in said(ready, "ask_ready", {"iron": "2"}, log=old)


def test_readings_on_the_way_up_give_an_estimate():
    """330 F half an hour in, with mornings of 40 minutes behind it: soon, with a latest time."""
    since = NOW - timedelta(minutes=30)
    events = [IronEvent(NOW - timedelta(minutes=2), "2026-03-12", "reading", "2", 330)]
    for back in (1, 2, 3):
        start = since - timedelta(days=back)
        day = start.strftime("%Y-%m-%d")
        events.append(IronEvent(start, day, "plugged_in", "2"))
        events.append(IronEvent(start + timedelta(minutes=40), day, "reading", "2", 365))
    log = Irons(IronState("2", True, since, 330, NOW - timedelta(minutes=2)), events=events)
    reply = said(ready, "ask_ready", {"iron": "2"}, log=log)
    assert reply.startswith("No, iron 2: 330 F")
    assert re.search(r"about 6:3\d|about 6:4\d", reply)
    assert "at the latest" in reply


def test_an_unplugged_iron_is_not_to_be_packed():
    """Off for ten minutes: still hot until half an hour has gone; off for an hour: plug it in."""
    warm = Irons(IronState("1", False, NOW - timedelta(minutes=10)))
    cold = Irons(IronState("1", False, NOW - timedelta(minutes=60)))
    assert "do not touch or pack before about 6:50" in said(ready, "ask_ready", {"iron": "1"}, log=warm)
    assert "Plug it in" in said(ready, "ask_ready", {"iron": "1"}, log=cold)


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"irons": 2, "breaker_a": 20}, "Yes, with nothing else on it"),
        ({"irons": 2, "breaker_a": 15}, "No: 2 irons draw 16 A"),
        ({"irons": 2, "breaker_a": 18}, "No: 16 A on 18 A"),
        ({"breaker_a": 30}, "carries 3"),
        ({"irons": 3, "generator_w": 2880}, "Just: 2880 W"),
        ({"irons": 3, "generator_w": 2879}, "No: 3 irons need 2880 W"),
        ({"irons": 1, "generator_w": 900}, "No: one iron alone"),
        ({"cord_ft": 100, "awg": 12}, "OK, right at the limit"),
        ({"cord_ft": 101, "awg": 8}, "No: 101 ft (31 m) is over"),
        ({"cord_ft": 50, "awg": 18}, "No: 18 AWG is too thin"),
        ({"cord_ft": 100, "awg": 16}, "16 AWG is thin for 100 ft (30 m)"),
        ({"cord_ft": 80, "awg": 14, "irons": 2}, "14 AWG is thin for 80 ft"),
        ({"volts": 240}, "No: a 120 V iron on 240 V makes 4 times"),
        ({"volts": 120, "iron_v": 240}, "An iron for 240 V on 120 V makes only 25 %"),
        ({"volts": 98}, "Low: 98 V leaves 67 %"),
    ],
)
def test_supply(facts, says):
    """What a supply carries and what it does to the heat."""
    assert said(power, "ask_power", facts).startswith(says) or says in said(power, "ask_power", facts)


def test_what_does_not_fit_is_said_alone():
    """A cord too long on a generator large enough: the cord is said; both good: both are."""
    both = {"cord_ft": 150, "awg": 12, "generator_w": 5000, "irons": 2}
    found = power.answer(Act("ask_power", both), desk())
    assert [s.key for s in found.says] == ["power.cord_too_long"]
    assert found.facts["fits"] is False
    good = power.answer(Act("ask_power", both | {"cord_ft": 50}), desk())
    assert [s.key for s in good.says] == ["power.generator_fits", "power.cord_fits"]
    assert good.facts["fits"] is True


def test_an_irons_own_amperes_are_no_breaker():
    """ "150 ft of 16 AWG, 8 A" asks about the cord."""
    assert said(power, "ask_power", {"cord_ft": 150, "awg": 16, "breaker_a": 8}).startswith("No: 150 ft")


def test_metric_papers_hear_metres():
    """A metric site hears no feet."""
    reply = said(power, "ask_power", {"cord_ft": 98, "awg": 12}, units="metric")
    assert "ft" not in reply
    assert "30 m" in reply


def test_why_tells_what_a_degree_costs():
    """On a 9 in web at 45 one degree opens 0.22 in, more than the bead fills."""
    nine = {"profiles": (Profile(name="9 in", width_in=9),)}
    found = cuts.answer(Act("ask_cut", {"joint": "turn", "turn_deg": 90, "plane": "flat"}), desk(**nine))
    assert "opens 0.22 in (5.6 mm)" in render_all(found.why, "en")


def test_a_turn_that_folds_back_is_asked_about():
    """170 as a turn is likelier the inside angle: both are offered, the confirmed turn is answered."""
    found = cuts.answer(Act("ask_cut", {"joint": "turn", "turn_deg": 170, "inside_deg": 10}), desk())
    assert found.outcome == "ask_back"
    inside, turn = (cuts.answer(choice[0], desk()) for choice in found.asks.choices)
    assert (inside.facts["miter_deg"], turn.facts["miter_deg"]) == (5, 85)


def test_a_sharp_gap_is_asked_about():
    """Legs 20 apart are asked about, not cut."""
    assert cuts.answer(Act("ask_cut", {"joint": "cross", "legs_deg": [20, 160, 20, 160]}), desk()).outcome == "ask_back"


def test_an_old_plug_in_names_the_time_it_was_due():
    """Plugged in at 5:15, asked at 6:30: due at 6:15, and only a test tells."""
    reply = said(ready, "ask_ready", {"plugged_at": "05:15"})
    assert "due by about 6:15" in reply
    assert "no proof" in reply


def test_a_new_bare_number_overrides_the_last_turn():
    """ "90 flat", then "and for 60?": the 60 is asked about, the 90 is not answered again."""
    first = cuts.answer(Act("ask_cut", {"joint": "turn", "turn_deg": 90, "plane": "flat"}), desk())
    second = cuts.answer(Act("ask_cut", {**first.facts, "number_deg": 60}), desk())
    assert second.outcome == "ask_back"
    assert second.asks.values["as_inside"] == 60
    settled = cuts.answer(second.asks.choices[1][0], desk())
    assert (settled.facts["miter_deg"], settled.facts["plane"]) == (60, "flat")
