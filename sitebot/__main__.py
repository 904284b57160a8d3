"""``python -m sitebot`` is the command ``sitebot``."""

from sitebot.cli import main

main()
