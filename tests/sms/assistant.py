"""The whole assistant as it is run for real: ``sitebot run`` as a process of its own, on a daemon of the tests."""

import os
import subprocess
import sys
import tomllib
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from sitebot.journal import Journal
from sitebot.site import site_of
from sitebot.stage import load_site
from tests.sms.daemon import until

ROOT = Path(__file__).parents[2]
SITE = """
name = "Tank 2"
zone = "America/Denver"
irons = ["1"]
people = [
    { name = "Wilda", role = "lead", phone = "+1 303 555 0161" },
    { name = "Amaro", role = "crew", language = "es", phone = "+1 303 555 0162" },
    { name = "Tobin", role = "crew", phone = "+1 303 555 0163" },
    { name = "Ines", role = "inspector", phone = "+1 303 555 0164" },
    { name = "Garrick", role = "superintendent", phone = "+1 303 555 0165" },
]
places = [{ name = "ring wall A", kinds = { butt = 300 } }, { name = "floor joint 2", kinds = { butt = 300 } }]
# No day has a shift: no reminder comes between.
shift = { days = "" }
"""
NUMBERS = {p["name"]: "+" + "".join(filter(str.isdigit, p["phone"])) for p in tomllib.loads(SITE)["people"]}


class Assistant:
    """One process; what it knows is in the folder."""

    def __init__(self, root, smsdrc, **sms):
        self.root, self.database, self.process = root, root / "sitebot.db", None
        values = {"quiet_from": '"00:00"', "quiet_to": '"00:00"', "parts_per_second": 20, "burst": 50, **sms}
        lines = [f'database = "sqlite:///{self.database}"', "metrics_port = 0", "[sms]"]
        lines += [f"{key} = {value}" for key, value in values.items()]
        lines += ["[sms.line]", f'smsdrc = "{smsdrc}"', "poll_s = 0.2"]
        self.settings = root / "sitebot.toml"
        self.settings.write_text("\n".join(lines) + "\n")
        with closing(self.journal()) as journal:
            journal.migrate()
            with journal.turn("site", datetime.now(UTC)) as turn:
                load_site(turn, site_of(tomllib.loads(SITE), "the tests' site"))

    def journal(self):
        return Journal.at(self.database)

    def command(self, *words):
        env = os.environ | {"SITEBOT_SETTINGS": str(self.settings)}
        return [sys.executable, "-m", "sitebot", *words], {"env": env, "cwd": ROOT}

    def start(self):
        command, options = self.command("run")
        with (self.root / "sitebot.log").open("ab") as log:
            self.process = subprocess.Popen(command, stdout=log, stderr=log, **options)
        return self

    def ready(self):
        log = self.root / "sitebot.log"
        until(lambda: "channel held" in log.read_text(), 60, "start of sitebot run")
        return self

    def kill(self):
        self.process.kill()
        self.process.wait()

    def stop(self):
        self.process.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.kill()

    def splices(self):
        with closing(self.journal()) as journal, journal.log("site") as log:
            return {s.number: s.status for s in log.splices()}
