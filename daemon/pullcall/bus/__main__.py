"""``python -m pullcall.bus``: publish a site, in a process of its own.

The first line of standard input has the orders, the others the site's messages; status lines come
on standard output. Whatever the broker does ends here: this process yields to all others, has
bounds, and is started again by the daemon.
"""

from __future__ import annotations

import asyncio
import logging

from pullcall.bus.bounds import keep_within_bounds


def main() -> None:
    """Run until the input ends."""
    keep_within_bounds()
    logging.basicConfig(format="%(message)s")
    logging.getLogger("asyncio").setLevel(logging.CRITICAL)  # what fails for good ends this, below

    from pullcall.bus.conversation import converse  # the bounds hold for all that is loaded

    asyncio.run(converse())


if __name__ == "__main__":
    main()
