"""What the process that goes to the broker is told first, on its standard input.

There, for a command line or an environment could be read by others on the machine.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from pullcall.bus.options import BrokerOptions, SiteOptions

#: The last line of an orderly stop; an input that ends without it: the daemon died.
BYE = '{"type":"bye"}'
_FILES = ("ca", "certificate", "key")


@dataclass(frozen=True, slots=True)
class Orders:
    """The broker, what the site publishes as, its cook log, and the version of this program."""

    broker: BrokerOptions
    site: SiteOptions
    log: Path
    version: str

    def line(self) -> str:
        """As one line of JSON."""
        return json.dumps(asdict(self), default=str)


def parse_orders(line: bytes) -> Orders:
    """The orders of such a line. Raises ValueError for any other."""
    try:
        told = json.loads(line)
        broker = told["broker"]
        files = {name: None if broker[name] is None else Path(broker[name]) for name in _FILES}
        site = SiteOptions(**told["site"])
        return Orders(_broker(broker | files), site, Path(told["log"]), told["version"])
    except (KeyError, TypeError, AttributeError, RecursionError) as exc:
        raise ValueError("these are no orders") from exc


def _broker(told: dict[str, Any]) -> BrokerOptions:
    return BrokerOptions(**told)
