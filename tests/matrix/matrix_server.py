"""A real homeserver on loopback for the tests: started in a second, thrown away after them. No test lives here."""

from __future__ import annotations

import hashlib
import hmac
import json
import pathlib
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from typing import Any

NAME = "hs.test"
SECRET = "only-for-tests"
PASSWORD = "pw"
WIDE = {"per_second": 1e6, "burst_count": 1_000_000}
SIGNING_KEY = "ed25519 a_test uzHDCYPQbqCV0nfHVPLQo7VSqKOwqfnSNl9SQWmcKBk\n"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def settings(folder: pathlib.Path, port: int, limits: dict[str, Any]) -> dict[str, Any]:
    """The server's settings; JSON is YAML. No cache for identical syncs: a test would see the past."""
    listener = {
        "port": port,
        "bind_addresses": ["127.0.0.1"],
        "type": "http",
        "tls": False,
        "resources": [{"names": ["client"], "compress": False}],
    }
    return {
        "server_name": NAME,
        "public_baseurl": f"http://127.0.0.1:{port}/",
        "pid_file": f"{folder}/pid",
        "signing_key_path": f"{folder}/signing.key",
        "media_store_path": f"{folder}/media",
        "log_config": f"{folder}/log.yaml",
        "listeners": [listener],
        "database": {"name": "sqlite3", "args": {"database": f"{folder}/hs.db"}},
        "registration_shared_secret": SECRET,
        "macaroon_secret_key": "m",
        "form_secret": "f",
        "report_stats": False,
        "trusted_key_servers": [],
        "federation_domain_whitelist": [],
        "bcrypt_rounds": 4,
        "presence": {"enabled": False},
        "user_directory": {"enabled": False},
        "max_upload_size": "2M",
        "caches": {"sync_response_cache_duration": "0s"},
        "rc_message": WIDE,
        "rc_registration": WIDE,
        "rc_login": dict.fromkeys(("address", "account", "failed_attempts"), WIDE),
        "rc_joins": {"local": WIDE, "remote": WIDE},
        "rc_joins_per_room": WIDE,
        "rc_invites": dict.fromkeys(("per_room", "per_user", "per_issuer"), WIDE),
        "rc_admin_redaction": WIDE,
        "rc_media_create": WIDE,
        "rc_room_creation": WIDE,
        "rc_key_requests": WIDE,
    } | limits


class Homeserver:
    """Synapse in a folder of its own; ``kill`` and ``start`` on the same folder make a crash."""

    def __init__(self, folder: pathlib.Path, **limits: Any) -> None:
        self.folder = folder
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self._process: subprocess.Popen[bytes] | None = None
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "hs.yaml").write_text(json.dumps(settings(folder, self.port, limits)))
        (folder / "log.yaml").write_text(
            f"version: 1\nhandlers: {{f: {{class: logging.FileHandler, filename: '{folder}/hs.log'}}}}\n"
            "root: {level: WARNING, handlers: [f]}\n"
        )
        (folder / "signing.key").write_text(SIGNING_KEY)

    def start(self) -> Homeserver:
        command = [sys.executable, "-m", "synapse.app.homeserver", "-c", str(self.folder / "hs.yaml")]
        with (self.folder / "out.log").open("ab") as out:
            self._process = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT, cwd=self.folder)
        deadline = time.monotonic() + 60
        while not self._answers():
            if self._process.poll() is not None or time.monotonic() > deadline:
                self.kill()
                raise RuntimeError((self.folder / "out.log").read_text()[-2000:])
            time.sleep(0.02)  # the only way to learn that another process listens
        return self

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(self.url + "/health", timeout=1) as answer:
                return bool(answer.read())
        except OSError:
            return False

    def stop(self) -> None:
        assert self._process
        self._process.terminate()
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self.kill()

    def kill(self) -> None:
        """SIGKILL: a crash."""
        assert self._process
        self._process.kill()
        self._process.wait()

    def request(self, method: str, path: str, body: Any = None, token: str = "") -> tuple[int, Any]:
        headers = {"Content-Type": "application/json"} | ({"Authorization": f"Bearer {token}"} if token else {})
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.url + path, method=method, data=data, headers=headers)
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                return answer.status, json.loads(answer.read() or b"{}")
        except urllib.error.HTTPError as error:
            return error.code, json.loads(error.read() or b"{}")

    def register(self, user: str, *, admin: bool = False) -> str:
        """A user; his Matrix id."""
        nonce = self.request("GET", "/_synapse/admin/v1/register")[1]["nonce"]
        signed = "\0".join((nonce, user, PASSWORD, "admin" if admin else "notadmin")).encode()
        mac = hmac.new(SECRET.encode(), signed, hashlib.sha1).hexdigest()
        body = {"nonce": nonce, "username": user, "password": PASSWORD, "admin": admin, "mac": mac}
        status, answer = self.request("POST", "/_synapse/admin/v1/register", body)
        assert status == 200, answer
        return f"@{user}:{NAME}"
