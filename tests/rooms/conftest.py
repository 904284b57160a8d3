"""A crew that shares a room with the assistant, on a clock of its own and without a wire."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

import pytest

from sitebot.message import Incoming, Outgoing

ROOM = "!crew"


@dataclass
class Crew:
    """Says things in the room, or alone with the assistant, and gets what came back."""

    stage: object
    count: int = 0
    out: list[Outgoing] = field(default_factory=list)

    def say(self, who, text="", **more):
        """In the crew room; what went out because of it."""
        return self.send(who, text, **{"room": ROOM, "shared": True, "addressed": False, **more})

    def alone(self, who, text="", **more):
        """In the room that is his and the assistant's."""
        return self.send(who, text, **{"room": f"!{who}", **more})

    def send(self, who, text, channel="memory", **more):
        self.stage.sent()
        self.count += 1
        stage, self.last = self.stage, f"$e{self.count}"
        address = stage.addresses.get(who, who)
        message = Incoming(channel, self.last, address, text, stage.now, **more)
        self.stage.app.receive(stage.name, message, stage.now)
        self.out = [out for _, out in stage.sent()]
        return self.out

    def text(self):
        """What was said to all, as one text."""
        return " ".join(out.text for out in self.out)

    def later(self, **span):
        self.stage.now += timedelta(**span)

    def splices(self):
        with self.stage.journal.turn(self.stage.name, self.stage.now) as turn:
            return {s.number: s for s in turn.log.splices()}

    def state(self):
        """What became of the last message."""
        with self.stage.journal.turn(self.stage.name, self.stage.now) as turn:
            return turn.traces.heard("memory", self.last).state


@pytest.fixture
def crew(stage):
    return Crew(stage)
