"""``python -m tests.bench.stamped_sites N HOST:PORT PROCESSES``: simulated sites whose readings say
when they were taken.

They are those of pullcall.simulators.sites, one reading a second for each of two steaks.
"""

from __future__ import annotations

import sys
from typing import Any

from pullcall.bus.options import BrokerOptions
from pullcall.simulators import sites
from tests.bench.stamp import stamped

#: Different cooks; each takes some six seconds to work out.
COOKS = 2


def stamp(message: dict[str, Any]) -> dict[str, Any]:
    """A reading with the moment at which the site takes it."""
    if message["type"] != "reading":
        return message
    return {**message, "celsius": stamped(message["celsius"])}


def main(count: int, broker: str, processes: int) -> None:
    """Publish until told to stop."""
    host, _, port = broker.rpartition(":")
    cooks = sites.tapes(COOKS)
    all = [sites.played(number, cooks, 1.0) for number in range(count)]
    print("ready", flush=True)
    sites.publish(BrokerOptions(host, int(port), tls=False), all, processes, stamp)


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2], int(sys.argv[3]))
