"""A question comes in, its answer goes out: in plain and encrypted rooms."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize("encrypted", [False, True])
async def test_a_question_is_answered_once_as_a_reply(world, encrypted):
    """A question in a direct room gets one answer, tied to it, and is marked as read."""
    crew = await world.phone("crew")
    await world.bot()
    room = await world.room(crew, encrypted=encrypted)
    question = await crew.say(room, "how hot?")
    answer = await crew.answer_to(question, world.bot_id)
    assert answer.body == "re: how hot?"
    assert encrypted == bool(answer.decrypted)
