"""What was sent: found again after a crash, moved forward by receipts only, matched in spite of odd ids."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitebot.channels.sms.ledger import SIZE, Ledger, Sent
from sitebot.channels.sms.line import Receipt, Step
from tests.sms.office import AMARO, NOON


def sent(number=1, ref="r", ids=("a1",), steps=None, **more):
    return Sent(number, ref, AMARO, NOON, "text", 2, ids, steps or (Step.SENT,) * len(ids), **more)


def ledger(*messages):
    rows = {}
    for m in messages:
        rows |= Ledger({}).row(m)
    return Ledger(rows)


@given(st.lists(st.sampled_from(Step), max_size=8))
def test_receipts_only_move_forward(steps):
    """In whatever order they come, the furthest stands: delivered after failed is delivered, failed after it is not."""
    book = ledger(sent(steps=(Step.QUEUED,)))
    for step in steps:
        if changed := book.note(Receipt(step, ref="r")):
            book.keep(book.row(changed))
    assert book.find("r").step == max(steps, default=Step.QUEUED)


def test_a_message_is_delivered_when_all_parts_are():
    """One part failed is a message failed."""
    book = ledger(sent(ids=("a", "b")))
    book.keep(book.row(book.note(Receipt(Step.DELIVERED, id="a"))))
    assert book.find("r").step == Step.SENT
    book.keep(book.row(book.note(Receipt(Step.DELIVERED, id="b"))))
    assert book.find("r").step == Step.DELIVERED


@pytest.mark.parametrize(
    ("ours", "theirs"), [("000000a0", "a0"), ("a0", "000000A0"), ("a0", "160"), ("160", "000000a0"), ("0000160", "A0")]
)
def test_ids_in_hex_decimal_and_padded(ours, theirs):
    """One side writes the id in hex, the other in decimal or padded with zeros; the message is found."""
    book = ledger(sent(ids=(ours,)))
    assert book.note(Receipt(Step.DELIVERED, id=theirs)).ref == "r"


def test_another_id_is_not_taken_for_ours():
    """Only the same number in another base is the same."""
    book = ledger(sent(ids=("a0",)))
    assert book.note(Receipt(Step.DELIVERED, id="a1")) is None
    assert book.note(Receipt(Step.DELIVERED, id="")) is None


def test_receipt_that_overtakes_the_answer():
    """It waits for its message and counts when the id becomes known."""
    book = ledger(sent(ids=("",), steps=(Step.QUEUED,)))
    assert book.note(Receipt(Step.DELIVERED, id="00ff")) is None
    assert book.accepted(book.find("r"), 0, "ff", Step.SENT).step == Step.DELIVERED


def test_news_of_a_try_that_was_given_up():
    """Only that it arrived after all counts for the message as it is sent again."""
    book = ledger(sent(tries=2, steps=(Step.QUEUED,)))
    assert book.find("r").line_ref == "r~2"
    assert book.note(Receipt(Step.FAILED, ref="r")) is None
    assert book.note(Receipt(Step.DELIVERED, ref="r")).step == Step.DELIVERED


def test_the_ring_holds_the_latest():
    """It does not grow: the oldest makes room, and is not found under its ref any more."""
    book = ledger(sent(1, "old"))
    book.keep(book.row(sent(SIZE + 1, "new")))
    assert book.find("old") is None
    assert book.find("new").number == SIZE + 1
    assert Ledger(book.row(book.find("new"))).next_number() == SIZE + 2
