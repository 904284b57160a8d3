"""Answers out of the rules: the verdict word, yes and no, the site's papers, and first aid before anything else."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from sitebot.acts import Act
from sitebot.respond import acceptance, practice, safety
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import OwnLimit, Procedure, Site
from sitebot.wording.render import render_all

BOOK = Rulebook.load(rules_folder())
SITE = Site(name="Test tank", first_aider="Ana", address="Gate 2, Mill Road", emergency_number="112")


def asked(handler, name, text="", site=SITE, role="crew", **facts):
    desk = SimpleNamespace(rules=BOOK, site=site, role=role, may_judge=role == "inspector")
    return handler.answer(Act(name, {**facts, "text": text}), desk)


def passes(text="", site=SITE, role="crew", **facts):
    return asked(acceptance, "ask_acceptance", text, site, role, **facts)


def told(answer, language="en"):
    return render_all(answer.says, language)


@pytest.mark.parametrize(
    ("facts", "verdict", "begins"),
    [
        ({"defect": "unbonded", "value": 0.03125, "unit": "in", "thickness": 0.375}, "accept", "Accept:"),
        ({"defect": "unbonded", "value": 1.6, "unit": "mm", "thickness": 12}, "accept", "Accept, exactly at the limit"),
        (
            {"defect": "unbonded", "value": 1, "unit": "mm", "thickness": 6},
            "reject",
            "Reject: 1 mm is over the limit of 0.9",
        ),
        ({"defect": "unbonded", "value": 1, "unit": "mm"}, "need_more", "How thick"),
        (
            {"defect": "unbonded", "value": 1, "unit": "mm", "thickness": 0.25, "thickness_unit": "in"},
            "reject",
            "Reject:",
        ),
        ({"defect": "unbonded", "present": True}, "need_more", "How deep"),
        ({"defect": "tensile", "value": 80, "unit": "%"}, "accept", "Accept, exactly at the limit"),
        ({"defect": "tensile", "value": 79.9, "unit": "%"}, "reject", "Reject: 79.9 %"),
        ({"defect": "tensile", "value": 1450, "unit": "psi"}, "need_more", "What did the parent pull?"),
        ({"defect": "tensile", "value": 65}, "need_more", "What did it pull"),
        ({"defect": "bulb_misaligned", "present": True}, "reject", "Reject."),
        ({"defect": "ribs_misaligned", "value": 1, "unit": "mm"}, "accept", "Accept:"),
        ({"defect": "ribs_misaligned", "value": 12, "unit": "%"}, "accept", "Accept: 12 %"),
        ({"defect": "misaligned", "value": 20, "unit": "%"}, "reject", "Reject: 20 %"),
        ({"defect": "misaligned", "value": 0.25, "unit": "in"}, "reject", "Reject: 1/4 in"),
        ({"defect": "misaligned", "value": 2, "unit": "mm", "thickness": 15}, "need_more", "2 mm costs 13.3 %"),
        ({"defect": "porosity", "present": True}, "reject", "Reject. No visible pores"),
        ({"defect": "thin_bead", "value": 3, "unit": "mm"}, "accept", "Accept, exactly at the limit"),
        ({"present": False}, "accept", "Accept on what you describe"),
        ({"defect": "other", "present": True}, "need_more", "What do you see"),
    ],
)
def test_a_verdict_begins_with_its_word(facts, verdict, begins):
    """Accept, Reject, or the question for what is missing; the fact handed on says the same."""
    answer = passes(**facts)
    assert (answer.facts["verdict"], told(answer)[: len(begins)]) == (verdict, begins)
    assert (answer.outcome == "ask_back") == (verdict == "need_more")
    assert answer.entries == ()


@pytest.mark.parametrize(
    ("text", "defect", "has"),
    [
        ("what is the limit on unbonded", "unbonded", "1/16 in or 15 %"),
        ("cual es la regla del bulbo", "bulb_misaligned", "1/16 in"),
        ("what gets a splice thrown out", "other", "under 80 % tensile"),
        ("are bubbles ever let go", "bubbles", "No bubbles"),
    ],
)
def test_the_rule_itself_can_be_asked_for(text, defect, has):
    """A question for the rule gets the rule and no verdict."""
    answer = passes(text, defect=defect)
    assert answer.facts["verdict"] == "rule"
    assert has in told(answer)


def test_ends_seen_true_are_judged_by_their_section_alone():
    """2 mm off on 15 mm passes where bulb and ribs were seen to meet, and only there."""
    off = {"defect": "misaligned", "value": 2, "unit": "mm", "thickness": 15}
    assert passes("off 2 mm on 15, bulb and ribs still line up", **off).facts["verdict"] == "accept"
    assert passes("off 2 mm on 15, bulb and ribs dont line up", **off).facts["verdict"] == "need_more"


def test_a_bead_that_is_denied_is_a_flaw():
    """No bead at all is no clean bill."""
    assert passes("there aint no bead on the bottom edge", present=False).facts["verdict"] == "reject"


def test_metric_papers_and_the_site_s_own_limit_govern():
    """2 mm is at the limit on metric papers; a stricter limit of the site names the site's document."""
    deep = {"defect": "unbonded", "value": 2, "unit": "mm", "thickness": 15}
    assert passes(**deep).facts["verdict"] == "reject"
    assert "exactly at the limit" in told(passes(site=SITE.model_copy(update={"units": "metric"}), **deep))
    own = SITE.model_copy(update={"limits": {"acceptance.strength": OwnLimit(min="85 %", source="Spec 03 15 13")}})
    answer = passes(site=own, defect="tensile", value=84, unit="%")
    assert answer.facts["verdict"] == "reject"
    assert "Spec 03 15 13" in render_all(answer.why, "en")


def test_why_gives_arithmetic_and_source():
    """After a verdict: the steps, the rule with the limits in force and the document it stands in."""
    why = render_all(passes(defect="unbonded", value=1, unit="mm", thickness=6).why, "en")
    assert "15 % x 6 mm = 0.9 mm; 1 mm > 0.9 mm" in why
    assert "UFGS-03150A, 3.2.3.3" in why
    assert "1/16 in" in why


@pytest.mark.parametrize(
    ("topic", "text", "begins"),
    [
        ("temperature", "is 400 F too hot?", "Yes. 400 F is too hot"),
        ("temperature", "can we run 390?", "No. 390 F is too hot"),
        ("temperature", "370 ok?", "Yes. 370 F is in range"),
        ("temperature", "what heat do we weld at", "Weld at 360-380 F (182-193 C)"),
        ("melt_test", "41 s to first melt, too slow?", "Yes. 41 s is slow"),
        ("bead", "is a 3/16 bead enough", "Yes. 3/16 in is enough"),
        ("sample", "do we really need a sample every day", "Yes. A sample"),
        ("sample", "isnt it ok to skip the sample", "A sample every morning"),
        ("crew_size", "two guys on a big lopsided one ok?", "No. Put 3 on it"),
        ("bead", "3/16 bead all round, enough?", "Yes. 3/16"),
    ],
)
def test_yes_and_no_answer_the_question_as_it_was_put(topic, text, begins):
    """Too hot? is yes where allowed? is no; a denied question gets neither word."""
    assert told(asked(practice, "ask_practice", text, topic=topic)).startswith(begins)


def test_common_practice_is_marked_and_the_procedure_replaces_it():
    """Without papers the heat is common practice; the site's procedure stands in its place, judged and named."""
    plain = asked(practice, "ask_practice", "what temp", topic="temperature")
    assert "(Common practice.)" in told(plain)
    own = SITE.model_copy(update={"procedure": {"temperature": Procedure(value="340-355 F", source="WP-7 rev 2")}})
    assert told(asked(practice, "ask_practice", "what temp", own, topic="temperature")) == "340-355 F, by WP-7 rev 2."
    hot = told(asked(practice, "ask_practice", "is 370 F ok?", own, topic="temperature"))
    assert hot == "No. 370 F is over the site's 340-355 F (WP-7 rev 2)."
    right = told(asked(practice, "ask_practice", "350 F ok?", own, topic="temperature"), "es")
    assert right == "Sí. 350 F está bien, el procedimiento dice 340-355 F (WP-7 rev 2)."


def test_fittings_in_the_field_follow_the_site_s_setting():
    """Allowed, not allowed, or as the guide specifications have it and the engineer says."""
    text = "can we make our own tees"
    heard = {
        s: told(asked(practice, "ask_practice", text, SITE.model_copy(update={"field_fittings": s})))
        for s in ("allowed", "not allowed", "ask")
    }
    assert heard["allowed"].startswith("Allowed on this site")
    assert heard["not allowed"].startswith("No: this site")
    assert "engineer" in heard["ask"]


def test_where_no_rule_fits_none_is_made_up():
    """A matter without a rule is asked back."""
    answer = asked(practice, "ask_practice", "who pays for lunch", topic="other")
    assert (answer.outcome, answer.says[0].key) == ("ask_back", "practice.unknown")


@pytest.mark.parametrize(
    ("topic", "text"),
    [
        ("burns", "burnt my thumb on the iron"),
        ("burns", "melt stuck to my arm, peel it off?"),
        ("first_aid", "he passed out in the shaft"),
        ("first_aid", "cut my hand, bleeding bad"),
        ("fumes", "my head is pounding from the fumes"),
        ("electric", "he got shocked by the iron"),
    ],
)
def test_where_somebody_is_hurt_help_is_named(topic, text):
    """First-aider, emergency number and address follow the first aid words; nothing is asked back."""
    answer = asked(safety, "ask_safety", text, topic=topic)
    assert answer.outcome == "answer"
    assert told(answer).endswith("First-aider: Ana. Emergency 112, at Gate 2, Mill Road.")


def test_a_burn_gets_cool_water_and_no_ice():
    """Common practice of first aid: cool running water, 20 minutes, no ice; in both languages."""
    answer = asked(safety, "ask_safety", "burned my hand", topic="burns")
    assert "Cool running water 20 min" in told(answer)
    assert "Agua fresca corriente 20 min" in told(answer, "es")
    assert "Sin hielo" in told(answer, "es")


@pytest.mark.parametrize(
    ("danger", "text", "has"),
    [
        ("quench", "gonna dunk the iron in the bucket", "Never water"),
        ("torch", "ill use the torch", "No torch"),
        ("glue", "gluing this one", "No glue"),
        ("lap", "just lap it", "No laps"),
        ("mechanical", "stapling it", "No screws"),
        ("no_gloves", "gloves off", "Don't take them off"),
        ("bad_cord", "taping the frayed cord", "Don't tape it"),
        ("alone", "finishing alone", "Not alone"),
        ("knife_miter", "knife for the 45s", "No knife on miters"),
        ("cut_good_splice", "sawing 30 out of the wall to test it", "installed splice"),
        ("fumes", "closing the hatch of the tank while we weld", "Not without ventilation"),
        ("", "ahorita saco el soplete", "No torch"),
        ("other", "zzz", "Stop"),
    ],
)
def test_an_unsafe_plan_is_refused_with_the_safe_way(danger, text, has):
    """The hazard comes first, the outcome is refuse, also where the danger has no name."""
    answer = asked(safety, "unsafe_plan", text, danger=danger)
    assert answer.outcome == "refuse"
    assert has in told(answer)
