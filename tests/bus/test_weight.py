"""What is loaded where: nothing of MQTT where a cook runs, and little where MQTT is spoken."""

from __future__ import annotations

import subprocess
import sys

import pytest

_ASK = "import sys, {module}; print(*sorted({{name.split('.')[0] for name in sys.modules}}))"
_HEAVY = {"numpy", "scipy", "fastapi", "starlette", "uvicorn", "bleak"}


@pytest.mark.parametrize(
    ("module", "not_there"),
    [
        ("pullcall.bus.bridge", _HEAVY | {"aiomqtt", "paho", "pydantic"}),
        ("pullcall.site.live", {"aiomqtt", "paho"}),
        ("pullcall.bus.conversation", _HEAVY),
    ],
)
def test_nothing_is_loaded_that_is_not_needed(module: str, not_there: set[str]) -> None:
    asked = [sys.executable, "-c", _ASK.format(module=module)]
    loaded = subprocess.run(asked, capture_output=True, text=True, check=True).stdout.split()
    assert "pullcall" in loaded
    assert not not_there & set(loaded)
