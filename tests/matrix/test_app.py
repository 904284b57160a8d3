"""The real assistant behind the channel: a whole day of a crew over Matrix."""

from __future__ import annotations

import json
import pathlib
import re
from datetime import UTC, datetime

from sitebot.play import record_of, site_of_header
from tests.matrix.matrix_site import OnMatrix

DAY = pathlib.Path(__file__).parents[1] / "days" / "01-good-day.jsonl"


async def test_a_good_day_over_matrix(world):
    """The first scripted day, said in direct rooms: every reply as the script wants it, and the record at the end."""
    header, *lines = map(json.loads, DAY.read_text(encoding="utf-8").splitlines())
    phones = {person["name"]: await world.phone(person["name"].lower()) for person in header["roster"]}
    site = with_matrix(site_of_header(header), {name: phone.id for name, phone in phones.items()})
    await world.log_bot_in()
    day = OnMatrix(world, site, moment(lines[0]["at"], site))
    await day.start()
    rooms = {name: await world.room(phone, encrypted=True) for name, phone in phones.items()}
    for line in lines:
        if "at" in line:
            day.run_to(moment(line["at"], site))
        if "text" in line:
            phone = phones[line["from"]]
            question = await phone.say(rooms[line["from"]], line["text"])
            await check_reply(phone, question, line, world.bot_id)
        if "check" in line:
            record = record_of(day)
            for name in ("tally", "open_rework", "pour_ready"):
                assert record[name] == line["check"][name]


def with_matrix(site, addresses):
    people = [{**person, "phone": None, "matrix": addresses[person["name"]]} for person in site.model_dump()["people"]]
    return type(site).model_validate(site.model_dump() | {"people": people})


def moment(at, site):
    return datetime.fromisoformat(at).replace(tzinfo=site.tz).astimezone(UTC)


async def check_reply(phone, question, line, bot):
    wanted = line["expect"].get("reply_has")
    if not wanted:
        return
    reply = (await phone.answer_to(question, bot)).body
    for pattern in wanted:
        assert re.search(pattern, reply, re.IGNORECASE), (line["text"], reply)
    for pattern in line["expect"].get("reply_never", ()):
        assert not re.search(pattern, reply, re.IGNORECASE), (line["text"], reply)
