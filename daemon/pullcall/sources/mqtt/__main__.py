"""``python -m pullcall.sources.mqtt``: listen to gateways, in a process of its own.

The first line of standard input has the orders, and its end ends this process; what is heard comes
on standard output. Whatever the broker and the gateways do ends here.
"""

from __future__ import annotations

import asyncio
import logging
import os
import sys

from pullcall.bus.bounds import keep_within_bounds


def main() -> None:
    """Run until the input ends."""
    keep_within_bounds()
    logging.basicConfig(format="%(message)s")
    logging.getLogger("mqtt").setLevel(logging.CRITICAL)  # a gateway must not fill the journal
    asyncio.run(_listen(sys.stdin.buffer.readline()))


async def _listen(orders: bytes) -> None:
    from pullcall.clock import RealClock  # the bounds hold for all that is loaded
    from pullcall.sources.mqtt.listening import Listening
    from pullcall.sources.mqtt.options import parse_orders
    from pullcall.sources.mqtt.told import Told, line_of

    def tell(told: Told) -> None:
        print(line_of(told), flush=True)

    listening = asyncio.create_task(Listening(parse_orders(orders), RealClock(), tell).run())
    ending = asyncio.create_task(_input_ends())
    await asyncio.wait({listening, ending}, return_when=asyncio.FIRST_COMPLETED)
    if listening.done():
        listening.result()
    # A thread may still wait for an address or a handshake: nobody needs what it finds.
    os._exit(0)


async def _input_ends() -> None:
    lines = asyncio.StreamReader(limit=1)
    protocol = asyncio.StreamReaderProtocol(lines)
    await asyncio.get_running_loop().connect_read_pipe(lambda: protocol, sys.stdin)
    await lines.read()


if __name__ == "__main__":
    main()
