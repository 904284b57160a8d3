"""Parts put together: any order, repeats, lost and late parts, references used again."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitebot.channels.sms import joining
from sitebot.channels.sms.line import Heard
from sitebot.wording import gsm
from tests.sms.office import AMARO, NOON, WILDA


def part(place, total=3, text=None, ref=7, sender=AMARO, at=NOON):
    text = text if text is not None else f"<{place}>"
    return Heard(f"{sender}{ref}{place}{len(text)}{text[-1:] == '2'}{at}", sender, text, at, ref, total, place)


def take_all(heard, groups=(), now=NOON):
    texts = []
    for h in heard:
        groups, whole = joining.take(groups, h, now)
        groups = joining.of_json(joining.to_json(groups))
        if whole:
            texts.append(whole.text)
    return groups, texts


@given(st.permutations(range(1, 6)), st.lists(st.integers(1, 5), max_size=4))
def test_any_order_with_repeats_is_one_message(order, repeats):
    """However the parts come, the text is whole once, and stays so when parts are repeated."""
    _, texts = take_all([part(p, 5) for p in [*order[:3], *repeats, *order[3:], *repeats]])
    assert texts == ["<1><2><3><4><5>"]


def test_the_id_does_not_depend_on_the_order():
    """A message that comes again as a whole is known by its id."""
    ids = set()
    for order in ((1, 2, 3), (3, 1, 2)):
        groups = ()
        for p in order:
            groups, whole = joining.take(groups, part(p), NOON)
        ids.add(whole.id)
    assert len(ids) == 1


def test_two_senders_with_one_reference():
    """They do not mix."""
    _, texts = take_all([part(1, 2), part(2, 2, "W2", sender=WILDA), part(1, 2, "W1", sender=WILDA), part(2, 2)])
    assert texts == ["W1W2", "<1><2>"]


def test_reference_used_again_at_once():
    """A phone that numbers all its texts alike: another part at a place taken begins another message."""
    _, texts = take_all([part(1, 2), part(2, 2), part(1, 2, "new1"), part(2, 2, "new2")])
    assert texts == ["<1><2>", "new1new2"]


def test_reference_used_again_next_day():
    """Parts whose stamps are far apart are not of one message."""
    groups, _ = take_all([part(1, 2)])
    later = NOON + timedelta(hours=20)
    _, texts = take_all([part(2, 2, "b", at=later), part(1, 2, "a", at=later)], groups, later)
    assert texts == ["ab"]


def test_half_received_once_and_late_part_ignored():
    """A minute after its last part a message is half-received, once; a part that comes then changes nothing."""
    groups, _ = take_all([part(1), part(3)])
    assert joining.expire(groups, NOON + timedelta(seconds=59))[1] == []
    groups, halves = joining.expire(groups, NOON + timedelta(seconds=60))
    assert [h.sender for h in halves] == [AMARO]
    groups, again = joining.expire(joining.of_json(joining.to_json(groups)), NOON + timedelta(seconds=120))
    assert again == []
    groups, texts = take_all([part(2)], groups, NOON + timedelta(seconds=121))
    assert texts == []
    assert joining.expire(groups, NOON + timedelta(minutes=9))[1] == []


def test_what_is_finished_is_forgotten_after_a_day():
    """The memory of finished messages does not grow for ever, and keeps no texts."""
    groups, _ = take_all([part(1, 2, "secret"), part(2, 2)])
    assert "secret" not in joining.to_json(groups)
    assert joining.expire(groups, NOON + timedelta(days=2)) == ((), [])


@pytest.mark.parametrize(("total", "place"), [(0, 0), (1, 1), (3, 0), (3, 4), (200, 1)])
def test_a_header_without_sense_is_a_text_by_itself(total, place):
    """What cannot be a part is not waited for."""
    assert take_all([part(place, total, "text")])[1] == ["text"]


def test_nul_is_taken_out():
    """PostgreSQL does not take it: such a text could never be kept, and would come again for ever."""
    assert take_all([part(0, 1, "ok\0")])[1] == ["ok"]


def test_pairs_split_between_parts_are_mended():
    """A careless sender splits a surrogate pair and an escape; joined they are whole."""
    high, low = "🚧".encode("utf-16-be")[:2], "🚧".encode("utf-16-be")[2:]
    pieces = [b.decode("utf-16-be", "surrogatepass") for b in (high, low)]
    assert take_all([part(1, 2, pieces[0]), part(2, 2, pieces[1])])[1] == ["🚧"]
    euro = gsm.septets("€")
    split = [gsm.of_septets(euro[:1]), gsm.of_septets(euro[1:])]
    assert take_all([part(1, 2, "5 " + split[0]), part(2, 2, split[1])])[1] == ["5 €"]
