"""The commands in docs/deployment.md make certificates that a site trusts, strictly."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from pullcall.bus.connection import connected
from tests.broker import running_broker
from tests.tools import require_tool

DEPLOYMENT = Path(__file__).parents[2] / "docs" / "deployment.md"


def commands() -> str:
    """What the page says, as a script."""
    found = re.search(r"<!-- certificates: .*?-->\n(.*?)<!-- end -->", DEPLOYMENT.read_text(), re.S)
    assert found is not None
    return re.sub(r"^    ", "", found[1], flags=re.M)


def certificates(folder: Path) -> Path:
    """What the commands make; checked as strictly as OpenSSL can."""
    openssl = require_tool("openssl", "openssl")
    script = ["bash", "-euo", "pipefail", "-c", commands()]
    subprocess.run(script, cwd=folder, check=True, capture_output=True)
    chain = ["-x509_strict", "-CAfile", "broker-ca.pem", "server.pem"]
    subprocess.run([openssl, "verify", *chain], cwd=folder, check=True, capture_output=True)
    return folder


async def test_a_broker_with_certificates_of_these_commands_is_trusted(tmp_path: Path) -> None:
    made = certificates(tmp_path)
    with running_broker(tmp_path / "broker") as broker:
        broker.kill()
        (made / "broker-ca.pem").replace(broker.folder / "ca.pem")
        for name in ("server.pem", "server.key"):
            (made / name).replace(broker.folder / name)
        broker.start()
        async with connected(broker.options("north"), "north") as site:
            await site.publish("pullcall/1/north/pulse", b"{}", 1)
