"""A daemon to be asked as anybody: this machine, a stranger, a watcher, a cook's phone."""

from __future__ import annotations

import itertools
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import requests
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from requests.adapters import HTTPAdapter

from tests.integration.daemon import free_pair

#: Under this name even this machine is a stranger to its daemon.
NAME = "pullcall.local"
#: Buckets are of an address or of a pairing: a few of each, so that none is ever empty.
_FEW = 24


class _From(HTTPAdapter):
    """Asks from an address of loopback."""

    def __init__(self, address: str) -> None:
        self._address = address
        super().__init__()

    def init_poolmanager(self, *args: Any, **named: Any) -> None:
        """The connections' own end."""
        super().init_poolmanager(*args, source_address=(self._address, 0), **named)


@dataclass
class Asked:
    """A daemon that serves phones too."""

    port: int
    authority: Path
    name: str = NAME

    @property
    def here(self) -> str:
        """Its address for this machine itself."""
        return f"http://127.0.0.1:{self.port + 1}"

    @property
    def away(self) -> str:
        """Its address for phones; the host that they name is in their headers."""
        return f"https://127.0.0.1:{self.port}"

    def strangers(self) -> Iterator[requests.Session]:
        """Clients that nobody paired, again and again, each from an address of its own."""
        return itertools.cycle([self.client(n) for n in range(_FEW)])

    def phones(self, role: str) -> Iterator[requests.Session]:
        """Phones paired as ``role``, again and again."""
        return itertools.cycle([self._paired(n, role) for n in range(_FEW)])

    def client(self, number: int) -> requests.Session:
        """A client that nobody paired; each number has an address of its own, up to 240."""
        session = requests.Session()
        session.mount("https://", _From(f"127.0.7.{number + 2}"))
        session.trust_env = False  # another authority of the environment's would go first
        session.verify = str(self.authority)
        session.headers["Host"] = f"{self.name}:{self.port}"
        return session

    def _paired(self, number: int, role: str) -> requests.Session:
        asked = {"role": role}
        invited = requests.post(f"{self.here}/api/v1/invitations", json=asked, timeout=20).json()
        session = self.client(100 + number)
        body = {"secret": invited["links"][0].partition("#k=")[2]}
        answer = session.post(f"{self.away}/api/v1/pairings", json=body, timeout=20)
        assert answer.status_code == 201, answer.text
        session.headers["Cookie"] = answer.headers["set-cookie"].partition(";")[0]
        return session


@contextmanager
def asked(state: Path, *command: str, name: str = NAME) -> Iterator[Asked]:
    """``pullcall`` with a command that serves phones, for a block's length; it must outlive it."""
    port = free_pair()
    arguments = [sys.executable, "-m", "pullcall", *command, "--host", "0.0.0.0"]
    own = {"XDG_STATE_HOME": str(state), "XDG_CONFIG_HOME": str(state), "PYTHONUNBUFFERED": "1"}
    said = state / "said"
    with (
        said.open("w") as words,
        subprocess.Popen(
            [*arguments, "--port", str(port)],
            stdout=subprocess.PIPE,
            stderr=words,
            text=True,
            env=os.environ | own,
        ) as process,
    ):
        try:
            assert process.stdout
            assert any("Ctrl-C" in line for line in process.stdout), said.read_text()
            yield Asked(port, _authority(port, state / "authority.pem"), name)
            assert process.poll() is None, "it ended while it was asked"
        finally:
            process.terminate()
            process.wait(20)
    assert "Traceback" not in said.read_text(), said.read_text()


def _authority(port: int, file: Path) -> Path:
    """What a phone does that trusts the site after comparing its fingerprint."""
    asked = f"http://127.0.0.1:{port + 1}/authority.crt"
    answer = requests.get(asked, headers={"Host": NAME}, timeout=20)
    found = x509.load_der_x509_certificate(answer.content)
    file.write_bytes(found.public_bytes(Encoding.PEM))
    return file
