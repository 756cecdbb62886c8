"""``make crash``: kill a running cook 200 times, check each time that nothing is lost.

The installed ``pullcall serve`` runs whole cooks at life's speed; its probes speak through a
gateway and a broker, people tap, write and pair over HTTP, a page listens. Prints a line for each
kill and at the end the rows of the table in docs/reliability/crash.md. Ends with 1 for any defect.
"""

from __future__ import annotations

import argparse
import asyncio
import signal
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from random import Random

from pullcall.simulators.open_broker import open_broker
from tests.crash.moments import planned
from tests.crash.run import CrashRun
from tests.integration.daemon import free_pair


def main() -> int:
    """Run it; the exit code says whether anything was lost."""
    parser = argparse.ArgumentParser(prog="python -m tests.crash", description=__doc__)
    parser.add_argument("--kills", type=int, default=200, help="how many (200)")
    parser.add_argument("--seed", type=int, default=1, help="chooses the moments (1)")
    parser.add_argument("--keep", type=Path, help="copy the first log that is wrong there")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="crash-") as name, open_broker(Path(name)) as broker:
        folder = Path(name) / "daemon"
        folder.mkdir()
        run = CrashRun(folder, broker, free_pair(), args.seed, lambda line: print(line, flush=True))
        run.keep = args.keep
        moments = planned(args.kills, Random(args.seed))
        signal.signal(signal.SIGTERM, lambda *_: setattr(run, "is_enough", True))
        with suppress(KeyboardInterrupt):  # at once; SIGTERM: after the next kill, with all checks
            asyncio.run(run.run(moments, torn_starts=10, looks_at_syncs=True))
    print("\n".join(["", *run.tally.rows(args.seed, run.cooks), "", *run.tally.defects]))
    return 1 if run.tally.defects else 0


if __name__ == "__main__":
    sys.exit(main())
