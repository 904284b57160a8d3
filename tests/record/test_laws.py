"""The laws of the record under random reports, corrections, verdicts, redos and resends by random people.

The texts are acts in JSON: what is tested here is the record, not the reading.
"""

import json
from datetime import UTC, datetime, timedelta

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from sitebot.acts import Act, Reading
from sitebot.demo import HERE
from sitebot.journal.check import check
from sitebot.site import read_site_file
from sitebot.stage import Stage

CREW = ["Tobin", "Amaro"]
EVERYBODY = [*CREW, "Wilda", "Ines", "Garrick"]
PLACES = ["ring wall A", "floor joint 2", None]
KINDS = ["butt", "tee", "flat_corner", "unknown"]
NUMBERS = st.integers(min_value=1, max_value=14)
START = datetime(2026, 4, 14, 14, 0, tzinfo=UTC)


def acts_of(text, _context):
    return Reading(acts=tuple(Act(name, facts) for name, facts in json.loads(text)))


class Record(RuleBasedStateMachine):
    """Anything may be said by anybody at any time."""

    @initialize()
    def open(self):
        self.stage = Stage(read_site_file(HERE / "site.toml"), START)
        self.stage.app.reader = acts_of
        self.before = {}
        self.last = None

    def say(self, who, name, **facts):
        self.before = self.splices()
        self.stage.now += timedelta(minutes=2)
        self.last = (who, json.dumps([[name, facts]]))
        self.stage.say(*self.last)

    def splices(self):
        with self.stage.journal.turn(self.stage.name, self.stage.now) as turn:
            return {s.number: s for s in turn.log.splices()}

    @rule(
        who=st.sampled_from(EVERYBODY),
        count=st.integers(1, 3),
        kind=st.sampled_from(KINDS),
        place=st.sampled_from(PLACES),
    )
    def reports(self, who, count, kind, place):
        self.say(who, "report_splices", count=count, joint=kind, place=place, welders=["me"])
        new = self.splices().keys() - self.before.keys()
        assert len(new) == count
        assert min(new) > max(self.before, default=0)

    @rule(who=st.sampled_from(CREW), number=NUMBERS, kind=st.sampled_from(KINDS))
    def reports_a_number(self, who, number, kind):
        self.say(who, "report_splices", count=1, numbers=[number], joint=kind, place="ring wall A")
        was, now = self.before.get(number), self.splices()[number]
        if was is not None and was.status != "pending":
            assert (now.kind, now.place, now.status) == (was.kind, was.place, was.status)

    @rule(
        who=st.sampled_from(EVERYBODY),
        numbers=st.lists(NUMBERS, min_size=1, max_size=3),
        verdict=st.sampled_from(["accept", "reject"]),
    )
    def judges(self, who, numbers, verdict):
        self.say(who, "report_inspection", numbers=numbers, verdict=verdict)
        if who != "Ines":
            assert {n: s.status for n, s in self.splices().items()} == {n: s.status for n, s in self.before.items()}

    @rule(who=st.sampled_from(CREW), number=NUMBERS)
    def relays(self, who, number):
        self.say(who, "report_inspection", numbers=[number], verdict="accept", relayed=True)
        assert {n: s.status for n, s in self.splices().items()} == {n: s.status for n, s in self.before.items()}

    @rule(who=st.sampled_from(EVERYBODY), number=NUMBERS)
    def redoes(self, who, number):
        self.say(who, "report_rework", numbers=[number], done=True)

    @rule(who=st.sampled_from(EVERYBODY), number=NUMBERS)
    def voids(self, who, number):
        self.say(who, "amend", target=number, void=True)
        was, now = self.before.get(number), self.splices().get(number)
        if was is not None and was.status in ("accepted", "rejected") and who != "Ines":
            assert now.status == was.status

    @rule(who=st.sampled_from(EVERYBODY), count=st.integers(0, 4))
    def recounts(self, who, count):
        self.say(who, "amend", target="last", change={"count": count})

    @rule(who=st.sampled_from(EVERYBODY), number=NUMBERS, to=NUMBERS)
    def renumbers(self, who, number, to):
        self.say(who, "amend", target=number, change={"number": to})

    @rule(who=st.sampled_from(EVERYBODY), number=NUMBERS, kind=st.sampled_from(KINDS[:3]))
    def corrects(self, who, number, kind):
        self.say(who, "amend", target=number, change={"joint": kind, "temp_f": 370})

    @rule(who=st.sampled_from(EVERYBODY), number=NUMBERS, bend=st.sampled_from(["ok", "bad"]))
    def finds(self, who, number, bend):
        self.say(who, "report_inspection", numbers=[number], bend=bend)
        now = self.splices()
        assert {n: s.status for n, s in now.items()} == {n: s.status for n, s in self.before.items()}
        was = self.before.get(number)
        if was is not None and who != "Ines" and was.findings.get("bend"):
            assert now[number].findings == was.findings

    @rule(who=st.sampled_from(CREW), ago=st.integers(5, 300))
    def arrives_late(self, who, ago):
        """Written hours ago: it counts then, and takes nobody's number."""
        self.before = self.splices()
        self.stage.now += timedelta(minutes=2)
        facts = {"count": 1, "joint": "butt", "place": "ring wall A"}
        self.last = None
        written = self.stage.now - timedelta(minutes=ago)
        self.stage.say(who, json.dumps([["report_splices", facts]]), written)
        new = self.splices().keys() - self.before.keys()
        assert min(new, default=99) > max(self.before, default=0)
        assert all(abs(self.splices()[n].made_at - written) < timedelta(minutes=1) for n in new)

    @rule(who=st.sampled_from(EVERYBODY), rain=st.sampled_from(["none", "light"]), butts=st.integers(0, 9))
    def tells_weather_and_plan(self, who, rain, butts):
        self.say(who, "report_weather", rain=rain)
        self.say(who, "plan_place", place="ring wall A", kinds={"butt": butts})
        assert self.splices() == self.before

    @rule()
    def resends(self):
        if self.last:
            before = self.splices()
            self.stage.say(*self.last)
            assert self.splices() == before

    @invariant()
    def counts_are_those_of_the_rows(self):
        splices = self.splices()
        with self.stage.journal.turn(self.stage.name, self.stage.now) as turn:
            counted = {}
            for c in turn.log.counts():
                counted[c.status] = counted.get(c.status, 0) + c.n
            in_all = {}
            for c in turn.log.totals():
                in_all[c.status] = in_all.get(c.status, 0) + c.n
            open_rework = {s.number for s in turn.log.open_rework()}
        rows = {}
        for s in splices.values():
            rows[s.status] = rows.get(s.status, 0) + 1
        assert counted == in_all == rows
        redone = {s.redo_of for s in splices.values() if s.status != "voided"}
        assert open_rework == {n for n, s in splices.items() if s.status == "rejected" and n not in redone}

    @invariant()
    def a_rejected_and_redone_weld_stays_rejected(self):
        splices = self.splices()
        for s in splices.values():
            if s.redo_of is not None and s.status != "voided" and s.redo_of in self.before:
                was = self.before[s.redo_of]
                if was.status == "rejected" and s.redo_of in splices:
                    assert splices[s.redo_of].status in ("rejected", "voided")

    def teardown(self):
        if hasattr(self, "stage"):
            assert list(check(self.stage.journal, self.stage.name)) == []
            self.stage.journal.close()


Record.TestCase.settings = settings(
    max_examples=12, stateful_step_count=25, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
TestRecord = Record.TestCase
