"""A backup of the running assistant holds its Matrix account: what is restored is the same device."""

from __future__ import annotations

import shutil

import pytest

from sitebot import backup
from sitebot.journal import Journal


async def test_a_restored_account_reads_on(world, tmp_path):
    """Backed up while it runs; its machine is lost; put back it reads an encrypted room as the same device."""
    crew = await world.phone("crew")
    bot = await world.bot()
    room = await world.room(crew, encrypted=True)
    await crew.answer_to(await crew.say(room, "before"), world.bot_id)
    journal = Journal.at(tmp_path / "log.db")
    journal.migrate()
    backup.back_up(journal, tmp_path / "b.tar.gz", world.store)
    await bot.stop()
    device = bot.channel._client.device_id
    shutil.rmtree(world.store)
    question = await crew.say(room, "meanwhile")
    assert backup.restore(tmp_path / "b.tar.gz", f"sqlite:///{tmp_path / 'again.db'}", matrix=world.store) == []
    again = await world.bot()
    assert (await crew.answer_to(question, world.bot_id)).body == "re: meanwhile"
    assert again.channel._client.device_id == device
    assert {path.stat().st_mode & 0o777 for path in world.store.iterdir() if path.suffix in (".json", ".db")} == {0o600}


async def test_an_account_is_not_overwritten(world, tmp_path):
    """Where an account lies already nothing is put; the log is not restored either."""
    await world.log_bot_in()
    journal = Journal.at(tmp_path / "log.db")
    journal.migrate()
    backup.back_up(journal, tmp_path / "b.tar.gz", world.store)
    with pytest.raises(backup.BackupError, match="holds an account already"):
        backup.restore(tmp_path / "b.tar.gz", f"sqlite:///{tmp_path / 'again.db'}", matrix=world.store)
    assert not (tmp_path / "again.db").exists()
