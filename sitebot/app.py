"""The road of a message, in one place to read it: ``App.answer``.

    channel -> inbox -> understand -> respond -> journal -> wording -> outbox -> channel

The raw message is kept first, in a transaction of its own (``receive``). Then one message is one transaction: what it
records and what is said because of it are stored together or not at all. Nothing is sent before that. Where several of
a site wait, they share one commit, each behind a savepoint of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial

from sitebot import codes, reach, reminders, talks, telling
from sitebot.acts import Act, Reading, Unclear
from sitebot.attached import Attachments
from sitebot.channels.sms.words import word_of
from sitebot.heard import Ear
from sitebot.journal import DatabaseDown, Journal, Turn
from sitebot.message import Incoming, Say, Term
from sitebot.replies import Step, done, enclosed, picture_of, plain, reply_text
from sitebot.respond import Answer, Desk, joining, respond
from sitebot.respond.roster import refused
from sitebot.rulebook import Rulebook
from sitebot.rulebook.word_lists import LANGUAGES
from sitebot.talks import Talk
from sitebot.telling import Teller
from sitebot.understand import read
from sitebot.understand.context import Context, Gazetteer
from sitebot.wording import render_all

#: Two like texts of one sender this close together are one message sent twice.
RESEND = timedelta(seconds=60)
#: A message that makes us fail so often is set aside, so that the others go on.
MOST_TRIES = 3


class App:
    """The assistant of the sites in one journal."""

    def __init__(
        self,
        journal: Journal,
        rules: Rulebook,
        reader: Callable[[str, Context], Reading] = read,
        wake: Callable[[], None] = lambda: None,
    ) -> None:
        self.journal = journal
        self.rules = rules
        self.reader = reader
        #: Called after each commit that may have changed what is to be sent or when to wake.
        self.wake = wake

    def warm(self) -> None:
        """Load all that reading and wording need, so that the first message waits for none of it."""
        self.reader("2 butts on B3, iron 1 at 370", Context(now=datetime.now(UTC)))
        codes.code_in("0000")
        for language in LANGUAGES:
            render_all([Say("talk.no_more", {"kind": Term("kind.butt")})], language)

    # --- in ---------------------------------------------------------------------------------------------------------

    def receive(self, site: str, message: Incoming, now: datetime) -> None:
        """Keep the raw message, then answer it. A repeat of (channel, external id) ends at the inbox."""
        for row in self.journal.keep(site, [message]):
            self.handle(site, row, now)

    def sweep(self, site: str, now: datetime) -> int:
        """Answer what a crash left kept but unanswered; how many there were."""
        rows = self.journal.waiting(site)
        for row in rows:
            try:
                self.handle(site, row, now)
            except Exception:
                if self.journal.failed_once(site, row, MOST_TRIES) < MOST_TRIES:
                    raise
        return len(rows)

    def handle(self, site: str, row: int, now: datetime) -> None:
        """One kept message in a transaction of its own."""
        with self.journal.turn(site, now) as turn:
            self.answer(turn, row, now)
        self.wake()

    def handle_all(self, site: str, rows: Sequence[int], now: datetime) -> tuple[int, Exception | None]:
        """Kept messages in order, with one commit for all; how many, and what was wrong with the next.

        A message that makes us fail is undone by itself and is the last: those behind it must not overtake it.
        """
        done, error = 0, None
        with self.journal.turns(site, now) as turns:
            for row in rows:
                try:
                    with turns.each() as turn:
                        self.answer(turn, row, now)
                except DatabaseDown:
                    raise
                except Exception as ours:
                    error = ours
                    break
                done += 1
        self.wake()
        return done, error

    def answer(self, turn: Turn, row: int, now: datetime) -> None:
        """One kept message: read it, answer it, record it, word it and queue what is to be sent."""
        message = turn.message(row)
        if message is None:
            return
        if turn.same_text_before(message, row, RESEND):
            turn.answered(row, "repeat")
            return
        desk, talk = self.desk(turn, message, now)
        if turn.is_over(row):
            turn.queue([telling.too_many(message, row, desk, self.journal.limits.person_hour)])
            turn.answered(row, "told")
            return
        gate = codes.Gate(turn, desk, message, row)
        came_to = self.steps(gate, talk, message, turn, row)
        if came_to is None:
            # Kept raw, as everything: it was not for us.
            turn.answered(row, "left")
            return
        steps, asked = came_to
        talk = self.say(steps, asked, desk, talk, turn, message, row)
        gate.ask()
        turn.keep_talk(desk.me or message.sender, talks.to_json(talk))
        turn.answered(row)
        if turn.has_recorded:
            # Wakes follow from the log: a question moves none.
            turn.keep_wakes(reminders.wakes(desk.site, turn.log, now))
            Teller(turn).today(replace(desk, log=turn.log))

    # --- understand -------------------------------------------------------------------------------------------------

    def desk(self, turn: Turn, message: Incoming, now: datetime) -> tuple[Desk, Talk]:
        """What an answer may look at: the site, the log, the person, the time it was written."""
        site = turn.log.site()
        person = next((p for p in turn.log.people() if message.sender in p.addresses), None)
        talk = talks.of_json(turn.talk(person.id if person else message.sender), now)
        # What concerns him alone goes to his own room, not to the crew's.
        talk = replace(talk, channel=message.channel, room=talk.room if message.shared else message.room)
        said_at = min(message.written_at or now, now).astimezone(site.tz)
        desk = Desk(now.astimezone(site.tz), said_at, person, site, turn.log, self.rules, talk.last, message.sender)
        return replace(desk, reminders=reminders.OpenFor(desk)), talk

    def context(self, desk: Desk, talk: Talk) -> Context:
        """The same, as far as the reader needs it."""
        log = desk.log
        places = [p.name for p in log.plan()]
        return Context(
            now=desk.said_at,
            role=desk.role,
            language=desk.person.language if desk.person else desk.site.language,
            gazetteer=Gazetteer(
                people=tuple(p.name for p in log.people()),
                places=tuple(dict.fromkeys([*places, *log.places_used()])),
                irons=tuple(dict.fromkeys([*desk.site.irons, *(i.iron for i in log.irons() if i.iron)])),
                nicknames=log.nicknames(),
            ),
            last=talk.last,
            pending=talk.pending,
            reminders=desk.reminders,
            irons_on=tuple(i.iron for i in log.irons_on()),
            highest=log.highest(),
            rejected=tuple(s.number for s in log.open_rework()),
            lead_inspects=desk.lead_inspects,
        )

    # --- respond and journal ----------------------------------------------------------------------------------------

    def steps(
        self, gate: codes.Gate, talk: Talk, message: Incoming, turn: Turn, row: int
    ) -> tuple[list[Step], Unclear | None] | None:
        """What a message comes to: a code that came back, a word of the network, or what it says. None: nothing."""
        if joined := joining.takes(message.text, gate.desk):
            answer, person = joined
            turn.record(answer.entries, person, row)
            return [Step(Act("ack"), answer)], None
        taken = gate.takes(talk)
        if isinstance(taken, Answer):
            return [Step(Act("ack"), taken)], None
        if taken:
            return self.respond(Reading(acts=taken), gate, turn, row)
        came = Attachments(turn, gate.desk, message, row, self.journal.photos)
        context = self.context(gate.desk, talk)
        heard = network_word(message, gate.desk) or Ear(message, row, turn, gate.desk, talk, context, self.reader).hear(
            partial(came.read, self.reader)
        )
        if isinstance(heard, Answer):
            # No act of the reader's: nothing that a follow-up could mean.
            return [Step(Act("told"), heard)], heard.asks
        return None if heard is None else self.respond(heard, gate, turn, row, came)

    def respond(
        self, reading: Reading, gate: codes.Gate, turn: Turn, row: int, came: Attachments | None = None
    ) -> tuple[list[Step], Unclear | None]:
        """Each act in turn; what one recorded stands in the log when the next is answered."""
        steps: list[Step] = []
        if reading.unclear and gate.desk.person is None:
            # Nothing of a stranger's is asked back: what he tells is not kept.
            return [Step(Act("told"), refused(gate.desk))], None
        if len(reading.acts) > 1:
            len(gate.desk.reminders)  # as they stood before the first act is recorded
        for act in reading.acts:
            if act.name in ("ask_why", "ask_more"):
                steps.append(Step(act, Answer()))
                continue
            act = came.completed(act, steps) if came else act
            desk = replace(gate.desk, log=turn.log, last=(*done(steps), *gate.desk.last))
            answer = gate.passed(act, respond(act, desk), desk)
            turn.record(answer.entries, gate.desk.me, row)
            steps.append(Step(act, answer))
        asked = next((s.answer.asks for s in steps if s.answer.asks), None) or reading.unclear
        return steps, asked

    # --- wording and outbox -----------------------------------------------------------------------------------------

    def say(
        self,
        steps: Sequence[Step],
        asked: Unclear | None,
        desk: Desk,
        talk: Talk,
        turn: Turn,
        message: Incoming,
        row: int,
    ) -> Talk:
        """Word the reply and the notices and queue them; the talk as it stands then."""
        language = desk.person.language if desk.person else desk.site.language
        text, talk = reply_text(steps, asked, language, desk, talk)
        reply = telling.reply(message, row, text)
        if text:
            is_private = message.shared and telling.is_personal(s.act for s in steps)
            pointer = render_all([Say("rooms.sent_to_you")], language)
            outs = telling.to_himself(reply, talk.room, pointer) if is_private else [reply]
            turn.queue(outs, enclosed(reply.key, picture_of(steps), language))
        Teller(turn).notices([n for s in steps for n in s.answer.notices], f"{row}")
        heard = tuple(Act(a.name, plain(a.facts), a.confidence) for a in done(steps)[::-1])
        return replace(
            talk.heard(heard),
            pending=asked,
            asked_at=turn.now if asked else None,
            asked_in=reply.key if asked else "",
            heard_in=message.room,
            unread_at=turn.now if message.unreadable else talk.unread_at,
        )

    # --- by the clock -----------------------------------------------------------------------------------------------

    def tick(self, site: str, now: datetime) -> int:
        """Send the reminders that are due; how many went out."""
        with self.journal.turn(site, now) as turn:
            site_now = turn.log.site()
            reached = reach.look(turn)
            Teller(turn).notices(reached, f"reach-{now:%Y%m%dT%H%M%S}")
            lost = reach.lost(turn)
            Teller(turn).notices(lost, f"{reach.LOST}{now:%Y%m%dT%H%M%S}")
            due = reminders.due(site_now, turn.log, now)
            turn.record([d.entry for d in due])
            Teller(turn).reminders(due)
            turn.keep_wakes(reminders.wakes(site_now, turn.log, now))
        if due or reached or lost:
            self.wake()
        return len(due)


def network_word(message: Incoming, desk: Desk) -> Reading | None:
    """STOP, START and HELP as the networks know them, on a phone line: recorded by us, confirmed by the channel."""
    word = word_of(message.text) if message.channel == "sms" else None
    if word == "resume" and desk.me not in desk.log.stopped():
        return None
    act = {"stop": "opt_out", "start": "opt_in", "resume": "opt_in", "help": "help"}.get(word or "")
    return Reading(acts=(Act(act),)) if act else None
