"""What is said in passing records nothing that was not meant."""

import pytest


@pytest.mark.parametrize("text", ["thx", "gracias", "ok thanks", "muchas gracias jefe"])
def test_thanks_are_no_report(texts, text):
    """With the preheat reminder open, thanks say nothing about an iron."""
    assert texts("Tobin", text) == "OK."
    assert "no" in texts("Tobin", "is iron 1 hot?").lower()


def test_a_crowd_that_stops_work_stops_no_texts(texts):
    """ "everybody stop" is about the rain."""
    assert "START" not in texts("Wilda", "raining hard everybody stop")


def test_a_short_stop_is_one(texts):
    """The word by itself still ends the texts."""
    assert "START" in texts("Tobin", "stop texting me")


def test_one_splice_by_its_number_is_no_count(texts):
    """ "la esquina 9 ..." makes no nine corners."""
    assert "#" not in texts("Wilda", "la esquina 9 la hizo solo Amaro")


def test_a_verdict_put_right_is_no_count(texts):
    """After a verdict on 3, "no wait 2 not 3" is asked about; nothing is made."""
    texts("Tobin", "3 butts ring wall A, iron 1")
    texts("Ines", "3 ok")
    assert "#" not in texts("Ines", "no wait 2 not 3")


def test_somebody_new_who_is_out_is_named(texts):
    """Whoever the list does not hold yet stands in the answer by his name."""
    assert "Beto off" in texts("Wilda", "Beto is out sick")


def test_an_early_finish_is_an_end(texts):
    """ "early finish 2pm" ends the day, it does not begin it."""
    assert "end 2:00 pm" in texts("Wilda", "early finish 2pm today")
