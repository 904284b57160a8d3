"""The plan from a table and by chat: every change an entry, the tally against it."""

import pytest
from typer.testing import CliRunner

from sitebot.cli import app
from sitebot.demo import HERE
from sitebot.errors import DataError
from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.plan import read_plan
from sitebot.site import read_site_file
from sitebot.stage import load_site


def table(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "plan.csv"
    path.write_bytes(text.encode(encoding))
    return path


@pytest.mark.parametrize(
    "text",
    [
        "place,kind,count\nB3,butt,8\nB3,flat corner,2\n\nB4,tee,0\n",
        "\ufeffplace;kind;count\r\nB3;Butt;8\r\nB3;flat_corner;2\r\nB4;tee;0\r\n",
        "count\tplace\tkind\n8\tB3\tbutt\n2\tB3\tflat_corner\n0\tB4\ttee\n",
    ],
)
def test_a_table_as_spreadsheets_write_it(tmp_path, text):
    """Comma, semicolon or tab, columns in any order, a mark at the beginning, empty lines."""
    assert read_plan(table(tmp_path, text)) == {"B3": {"butt": 8, "flat_corner": 2}, "B4": {"tee": 0}}


def test_every_fault_is_told_with_its_line(tmp_path):
    """All at once, each with what to do."""
    text = "place,kind,count\nB3,but,8\n,tee,1\nB4,tee,-1\nB4,tee,x\nB5,tee,1\nB5,tee,2\nb5,butt,1\nB6,tee,1,9\n"
    with pytest.raises(DataError) as error:
        read_plan(table(tmp_path, text))
    lines = str(error.value).splitlines()
    assert [line.split(": ")[1] for line in lines] == [f"line {n}" for n in (2, 3, 4, 5, 7, 8, 9)]
    assert "Write one of: butt" in lines[0]


@pytest.mark.parametrize(
    ("text", "told"),
    [("place,kind\nB3,butt\n", "without count"), ("", "without place"), ("place,kind,count\n", "B3,butt")],
)
def test_a_file_that_is_no_plan_says_what_one_looks_like(tmp_path, text, told):
    """No header, no lines: one fault."""
    with pytest.raises(DataError, match=told):
        read_plan(table(tmp_path, text))


def test_the_plan_is_loaded_shown_and_kept(tmp_path):
    """Only what changed becomes entries; the site file takes nothing back that the table changed."""
    db = tmp_path / "log.db"
    run = CliRunner()
    run.invoke(app, ["site", "load", str(HERE / "site.toml"), "--db", str(db)])
    path = table(tmp_path, "place,kind,count\nring wall A,butt,5\nshaft,edge_corner,4\n")
    assert "2 places changed" in run.invoke(app, ["site", "plan", str(path), "--db", str(db)]).output
    again = run.invoke(app, ["site", "plan", str(path), "--db", str(db)]).output
    assert "nothing changed" in again
    assert "shaft: edge_corner 0 of 4 accepted; 0 made" in again
    assert "nothing changed" in run.invoke(app, ["site", "load", str(HERE / "site.toml"), "--db", str(db)]).output
    journal = Journal.at(db)
    with journal.log("site") as log:
        assert {p.name: dict(p.kinds) for p in log.plan()} == {
            "ring wall A": {"butt": 5},
            "floor joint 2": {"butt": 2, "tee": 1},
            "shaft": {"edge_corner": 4},
        }
    assert list(check(journal, "site")) == []
    journal.close()


def test_a_changed_site_file_changes_the_plan_again(stage, does, log):
    """Where the file itself says something new it counts, and only there."""
    does("Wilda", "plan_place", place="ring wall A", kinds={"butt": 9})
    file = read_site_file(HERE / "site.toml")
    moved = file.places[1].model_copy(update={"kinds": {"tee": 3}})
    with stage.journal.turn(stage.name, stage.now) as turn:
        load_site(turn, file.model_copy(update={"places": (file.places[0], moved)}))
    assert [dict(p.kinds) for p in log(lambda log: log.plan())] == [{"butt": 9, "flat_corner": 1}, {"tee": 3}]


def test_the_plan_changes_by_chat(stage, does, log):
    """Set, raised, lowered; the reply says what stood there; the others hear."""
    assert "Before: 3 butts, 1 flat corner" in does(
        "Wilda", "plan_place", place="ring wall A", kinds={"butt": 8, "corner": 2}
    )
    assert "Wilda changed the plan" in stage.others["Garrick"]
    does("Garrick", "plan_place", place="ring wall A", more={"tee": 1}, less={"butt": 3})
    assert dict(log(lambda log: log.plan())[0].kinds) == {"butt": 5, "flat_corner": 2, "tee": 1}
    reply = does("Garrick", "ask_tally", period="all", place="ring wall A")
    assert "Planned there: 8 (butts 0 of 5 accepted" in reply
    assert list(check(stage.journal, stage.name)) == []


def test_a_kind_told_leaves_the_others_unless_only_is_said(stage, texts, log):
    """ "plan for X is 8 butts" keeps the corner there, "nothing else" drops it; the reply says the whole."""
    said = texts("Wilda", "plan for ring wall A is 8 butts")
    assert "Plan of ring wall A: 8 butts, 1 flat corner" in said.replace(" and ", ", ")
    assert dict(log(lambda log: log.plan())[0].kinds) == {"butt": 8, "flat_corner": 1}
    texts("Wilda", "plan for ring wall A is 6 butts and 2 tees, nothing else")
    assert dict(log(lambda log: log.plan())[0].kinds) == {"butt": 6, "tee": 2}
    texts("Wilda", "plan for ring wall A is 0 tees")
    assert dict(log(lambda log: log.plan())[0].kinds) == {"butt": 6}


@pytest.mark.parametrize(
    ("who", "facts"),
    [
        ("Tobin", {"kinds": {"butt": 1}}),
        ("Wilda", {"less": {"butt": 30}}),
        ("Wilda", {"kinds": {"butt": 999999}}),
        ("Wilda", {}),
    ],
)
def test_what_makes_no_sense_or_is_not_theirs_changes_nothing(does, log, who, facts):
    """Crew pass it on to the lead; numbers out of reach are asked back."""
    before = log(lambda log: log.plan())
    does(who, "plan_place", place="ring wall A", **facts)
    assert log(lambda log: log.plan()) == before
