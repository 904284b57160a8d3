"""Splices of which nobody said what they are: they count for no kind of the plan until somebody does."""


def test_the_pour_waits_for_their_kind_and_says_so(does):
    """Three accepted without a kind are none of the three butts planned; the question what is missing names them."""
    does("Tobin", "report_splices", count=3, place="ring wall A")
    does("Ines", "report_inspection", numbers=[1, 2, 3], verdict="accept")
    said = does("Garrick", "ask_pour", place="ring wall A")
    assert "#1-3: kind not told" in said


def test_a_kind_never_told_may_be_told_after_the_verdict(does, log):
    """By who made them, as a report told again or as a correction; a kind once told stays."""
    does("Tobin", "report_splices", count=3, place="ring wall A")
    does("Ines", "report_inspection", numbers=[1, 2, 3], verdict="accept")
    does("Tobin", "report_splices", count=2, numbers=[1, 2], joint="butt")
    does("Tobin", "amend", target=3, change={"joint": "butt"})
    assert [s.kind for s in log(lambda found: found.splices())] == ["butt"] * 3
    does("Tobin", "amend", target=3, change={"joint": "tee"})
    assert log(lambda found: found.splice(3)).kind == "butt"
    assert "kind not told" not in does("Garrick", "ask_pour", place="ring wall A")
