"""The broker of demos and benches ends with whoever started it, and says what it lacks."""

from __future__ import annotations

import asyncio
import sys
from asyncio.subprocess import PIPE
from pathlib import Path

import pytest

from pullcall.errors import BrokerError
from pullcall.simulators.open_broker import OpenBroker, listens
from tests.process import running
from tests.tools import require_tool

_STARTS_ONE = """
import sys
from asyncio.subprocess import PIPE
from pathlib import Path
from pullcall.simulators.open_broker import OpenBroker
broker = OpenBroker(Path(sys.argv[1]))
broker.start()
print(broker.port, flush=True)
sys.stdin.read()
"""


async def test_a_broker_ends_when_its_owner_is_killed(tmp_path: Path) -> None:
    require_tool("mosquitto", "mosquitto")
    command = (sys.executable, "-c", _STARTS_ONE, str(tmp_path))
    async with running(*command, stdin=PIPE, stdout=PIPE) as owner:
        assert owner.stdout is not None
        port = int(await owner.stdout.readline())
        assert listens(port)
        owner.kill()
        await owner.wait()
    async with asyncio.timeout(60):
        while listens(port):  # noqa: ASYNC110 - it was never a child of this process
            await asyncio.sleep(0.05)


def test_without_mosquitto_it_says_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shutil.which", lambda name, path=None: None)
    with pytest.raises(BrokerError, match="install it, on Debian by `make system`"):
        OpenBroker(tmp_path)
