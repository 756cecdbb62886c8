"""Fixtures of everything that needs a broker."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.broker import Broker, running_broker


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    with running_broker(tmp_path / "broker") as one:
        yield one
