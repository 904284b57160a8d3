"""What the doctor says of Matrix, on a real homeserver."""

from sitebot.channels.matrix.examined import homeserver


async def test_an_account_and_its_homeserver_are_in_order(world):
    """Logged in, and the homeserver answers."""
    await world.log_bot_in()
    assert dict(homeserver(world.store)) == {"Matrix account": "", "homeserver": ""}


async def test_a_homeserver_that_is_away_is_named(world):
    """Behind a gateway that has gone: its address and what to do."""
    gateway = await world.behind_gateway()
    await world.log_bot_in()
    await gateway.stop()
    world.gateway = None
    found = dict(homeserver(world.store))
    assert "does not answer" in found["homeserver"]
    assert gateway.url in found["homeserver"]


def test_without_an_account_the_login_is_named(tmp_path):
    """Nobody has logged in yet: the command that does."""
    assert "sitebot matrix login" in dict(homeserver(tmp_path / "none"))["Matrix account"]
