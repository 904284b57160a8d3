"""People by chat: who joins, another number that must answer itself, and erasing that leaves the chain whole."""

import sqlite3
from datetime import timedelta

import pytest
from typer.testing import CliRunner

from sitebot import entries as e
from sitebot.cli import app
from sitebot.demo import HERE
from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.site import read_site_file
from sitebot.stage import Stage, load_site

NEW = "+13035550177"
NADIA = {"name": "Nadia", "role": "crew", "phone": "303 555 0177", "lang": "es"}


def people(log):
    return log(lambda log: {p.name: p for p in log.people()})


def letters(stage, address=NEW):
    return [o.text for _, o in stage.sent() if o.address == address]


def test_who_joins_counts_once_the_number_answers(stage, does, texts, log):
    """Before the yes the number is a stranger's; after it the person reports under an id of her own."""
    stage.sent()
    reply = does("Wilda", "set_crew", join=[NADIA])
    assert "0177" in reply
    assert people(log)["Nadia"].addresses == ()
    assert "not on the crew list" in texts(NEW, "2 butts ring wall A") or "no está en la lista" in texts(NEW, "hola")
    stage.say(NEW, "SI")
    assert any("Bienvenido Nadia" in text for text in letters(stage))
    assert people(log)["Nadia"].addresses == (NEW,)
    texts(NEW, "2 juntas a tope ring wall A")
    (first, _) = log(lambda log: log.splices())
    assert first.told_by == people(log)["Nadia"].id
    assert list(check(stage.journal, stage.name)) == []


def test_the_question_goes_to_the_new_number_in_its_language(stage, does):
    """It says who put it down, for whom and where."""
    stage.sent()
    does("Wilda", "set_crew", join=[NADIA])
    assert "Wilda me dio este número para Nadia" in stage.others[NEW]


def test_a_number_that_answers_too_late_does_not_count(stage, does, log, texts):
    """A day later the yes is too late; asked again, it counts."""
    does("Wilda", "set_crew", join=[NADIA])
    stage.run_to(stage.now + timedelta(hours=25))
    assert "too late" in texts(NEW, "yes")
    assert people(log)["Nadia"].addresses == ()
    does("Wilda", "set_crew", address={"name": "Nadia", "phone": "303 555 0177"})
    stage.now += timedelta(minutes=5)
    stage.say(NEW, "yes")
    assert people(log)["Nadia"].addresses == (NEW,)


def test_a_number_that_says_no_is_dropped(stage, does, log):
    """The lead hears; a later yes of it is a stranger's."""
    does("Wilda", "set_crew", join=[NADIA])
    stage.sent()
    stage.say(NEW, "wrong number")
    assert any(stage.name_of(o.address) == "Wilda" and "not his" in o.text for _, o in stage.sent())
    stage.say(NEW, "yes")
    assert people(log)["Nadia"].addresses == ()


def test_the_old_number_counts_until_the_new_one_answers(stage, does, log):
    """Nobody is cut off by a slip of the pen."""
    does("Wilda", "set_crew", address={"name": "Tobin", "phone": "303 555 0188"})
    assert people(log)["Tobin"].addresses == ("+13035550163",)
    assert "another number for you" in stage.others["Tobin"]
    stage.say("+13035550188", "yes")
    assert people(log)["Tobin"].addresses == ("+13035550188",)


@pytest.mark.parametrize(
    ("who", "facts"),
    [
        ("Tobin", {"join": [NADIA]}),
        ("Tobin", {"address": {"name": "Amaro", "phone": "303 555 0188"}}),
        ("Wilda", {"join": [{**NADIA, "role": "inspector"}]}),
        ("Wilda", {"address": {"name": "Ines", "phone": "303 555 0188"}}),
        ("Wilda", {"leave": ["Ines"]}),
        ("Wilda", {"erase": "Ines"}),
        ("Tobin", {"erase": "me"}),
        ("Garrick", {"leave": ["Wilda"]}),
        ("Ines", {"join": [{**NADIA, "role": "superintendent"}]}),
    ],
)
def test_nobody_hands_out_a_word_he_has_not(does, log, stage, who, facts):
    """Crew change nobody, a lead makes no inspector and moves none, the only lead stays."""
    before = people(log)
    does(who, "set_crew", **facts)
    assert people(log) == before
    assert log(lambda log: log.asked_address("+13035550188")) is None


def test_a_number_of_somebody_else_is_not_taken_over(does, log):
    """Two people never have one number."""
    assert "Amaro's already" in does("Wilda", "set_crew", address={"name": "Tobin", "phone": "303 555 0162"})
    assert people(log)["Amaro"].addresses == ("+13035550162",)


def test_no_number_at_all_is_asked_back(does, log):
    """What is no number is told so, and nobody is added."""
    assert "no number I can text" in does("Wilda", "set_crew", join=[{**NADIA, "phone": "12"}])
    assert "Nadia" not in people(log)


def test_what_chat_changed_survives_a_restart_and_the_site_file(tmp_path, does, stage):
    """The roster is the file and the entries: loading the file again takes nothing back."""
    path = tmp_path / "log.db"
    first = Stage(read_site_file(HERE / "site.toml"), stage.now, Journal.at(path))
    with first.journal.turn("site", first.now) as turn:
        turn.record(
            [
                e.PersonJoined(person="p6", role="crew", name="Nadia"),
                e.AddressAsked(person="p6", until=first.now.isoformat(), address=NEW),
                e.AddressConfirmed(person="p6", address=NEW),
                e.AddressAsked(person="p3", until=first.now.isoformat(), address="+13035550188"),
                e.AddressConfirmed(person="p3", address="+13035550188"),
                e.LanguageChosen(person="p3", language="es"),
                e.PersonLeft(person="p2"),
            ]
        )
    first.journal.close()
    again = Stage(read_site_file(HERE / "site.toml"), stage.now, Journal.at(path))
    with again.journal.turn("site", again.now) as turn:
        found = {p.name: (p.id, p.addresses, p.language) for p in turn.log.people()}
        file = read_site_file(HERE / "site.toml")
        moved = file.people[2].model_copy(update={"phone": "+1 303 555 0199"})
        load_site(turn, file.model_copy(update={"people": (*file.people[:2], moved, *file.people[3:])}))
        later = {p.name: (p.addresses, p.language) for p in turn.log.people()}
    assert found["Nadia"] == ("p6", (NEW,), "en")
    assert found["Tobin"] == ("p3", ("+13035550188",), "es")
    assert "Amaro" not in found
    assert later["Tobin"] == (("+13035550199",), "es")  # the file changed the number, not the language
    assert list(check(again.journal, "site")) == []
    again.journal.close()


# --- erasing --------------------------------------------------------------------------------------------------------


def bytes_of(path):
    return b"".join(p.read_bytes() for p in path.parent.glob("log.db*"))


def worked(path, now):
    stage = Stage(read_site_file(HERE / "site.toml"), now, Journal.at(path))
    stage.say("Tobin", "2 butts ring wall A, this is Tobin")
    stage.say("Wilda", "tobin has a new phone, 303-555-0163 is the old one")
    stage.say("Ines", "1 rejected, pores")
    stage.say("Wilda", "damage at ring wall A, Tobin drilled through it")
    stage.sent()
    return stage


def counts(stage):
    with stage.journal.log("site") as log:
        return sorted(log.counts(), key=repr), {s.number: (s.status, s.welders, s.told_by) for s in log.splices()}


def test_an_erased_person_is_in_no_byte_of_the_log(tmp_path, stage):
    """The command takes name, number and texts out of the file; entries, chain and tally stay as they were."""
    path = tmp_path / "log.db"
    worker = worked(path, stage.now)
    before = counts(worker)
    with worker.journal.log("site") as log:
        entries = log.history(1)
    worker.journal.close()
    assert b"Tobin" in bytes_of(path)
    result = CliRunner().invoke(app, ["people", "erase", "Tobin", "--db", str(path)])
    assert "Erased: Tobin, now p3" in result.output
    left = bytes_of(path).lower()
    for trace in (b"tobin", b"3035550163", b"555-0163", b"555 0163"):
        assert trace not in left
    journal = Journal.at(path)
    worker.journal = journal
    assert counts(worker) == before
    with journal.log("site") as log:
        assert [(x.seq, x.kind, x.person) for x in log.history(1)] == [(x.seq, x.kind, x.person) for x in entries]
        assert log.history(1)[0].text == ""
        assert log.name_of("p3") == "p3"
        assert "{p3}" not in str(log.damages())
    assert list(check(journal, "site")) == []
    journal.close()


def test_erased_by_chat(stage, does, log):
    """The superintendent asks for it: the reply names the id only, and the number is a stranger's from then on."""
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A")
    assert "Erased" in does("Garrick", "set_crew", erase="Tobin")
    assert "Tobin" not in people(log)
    with stage.journal.reading() as tx:
        from sitebot.journal import tables as t

        for table in (t.inbox, t.outbox, t.talks, t.people, t.addresses, t.codes, t.channel_state):
            assert "Tobin" not in str(tx.execute(table.select()).all()), table.name
    assert list(check(stage.journal, stage.name)) == []
    assert "already" not in does("Wilda", "set_crew", join=[{"name": "Tobin", "role": "crew"}])
    assert people(log)["Tobin"].id == "p6"  # the old id is his who was erased, for ever


def test_free_text_in_the_chain_names_people_by_id(stage, does, log):
    """A name in a reason or in what was damaged is kept as an id and shown as a name."""
    does("Wilda", "report_damage", place="ring wall A", what="Tobin drilled it, tobin's drill")
    with stage.journal.reading() as tx:
        bodies = str(tx.exec_driver_sql("SELECT body FROM entries").all())
    assert "tobin" not in bodies.lower()
    assert log(lambda log: log.damages()[0].what) == "Tobin drilled it, Tobin's drill"


def test_the_guards_of_the_entries_hold_through_an_erasing(tmp_path, stage):
    """Nothing about erasing opens the entries to change."""
    path = tmp_path / "log.db"
    worked(path, stage.now).journal.close()
    CliRunner().invoke(app, ["people", "erase", "Tobin", "--db", str(path)])
    with sqlite3.connect(path) as db, pytest.raises(sqlite3.IntegrityError, match="only grow"):
        db.execute("DELETE FROM entries")


def test_who_is_listed_again_comes_back_under_his_id(stage, log):
    """Out of the file and in again: the same person, and an id is never given twice."""
    file = read_site_file(HERE / "site.toml")
    without = file.model_copy(update={"people": file.people[:2] + file.people[3:]})
    with stage.journal.turn("site", stage.now) as turn:
        load_site(turn, without)
        assert "Tobin" not in {p.name for p in turn.log.people()}
        assert load_site(turn, without) == 0
        load_site(turn, file)
    assert people(log)["Tobin"].id == "p3"
