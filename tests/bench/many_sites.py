"""Many sites on one board: how late a reading is there, what it costs, what a failure costs.

``python -m tests.bench.many_sites --help`` shows how to measure a part of it. A reading is
stamped where the simulated site's publishing code takes it; a real site adds a pipe to that.
"""

from __future__ import annotations

import argparse
import asyncio
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import AsyncExitStack, asynccontextmanager
from pathlib import Path

from pullcall.simulators.open_broker import OpenBroker, open_broker
from pullcall.simulators.sites import site_options
from tests.bench.board_watch import until_live, until_whole, watch_board, watch_site
from tests.bench.dom_delay import watch_dom
from tests.bench.outage import outage
from tests.bench.process_cost import children, cpu_seconds, load, resident_mb
from tests.integration.daemon import Daemon, daemon, free_port

SITES = (50, 100, 200)
SECONDS = 30.0
OUTAGE_S = 60.0
#: The simulated sites share this many processes.
PROCESSES = 2
#: They have so long to connect, and a board to hear from all, before anything is measured.
_SETTLING_S = 5.0
_TARGET = "target p99 <= 250 ms"
#: Starts a board on the same port.
Again = Callable[[], Awaitable[Daemon]]


async def measure() -> str:
    """Everything, which takes some minutes."""
    return await _measure(SITES, SECONDS, OUTAGE_S, is_whole=True)


async def _measure(
    counts: Sequence[int], seconds: float, outage_s: float | None, is_whole: bool
) -> str:
    lines = [f"readings of two steaks a site, one a second each; {load()}"]
    for count in counts:
        lines += await _many(count, seconds, is_whole and count == max(counts))
    if outage_s is not None:
        lines += await outage(outage_s)
    return "\n  ".join(["", *lines, load()])


async def _many(count: int, seconds: float, is_most: bool) -> list[str]:
    """Delays and costs with that many sites; with the most, what failures cost, too."""
    async with AsyncExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        broker = stack.enter_context(open_broker(folder))
        config = folder / "board.toml"
        config.write_text(broker.toml())
        command, port = ("board", "--config", str(config)), free_port()

        async def again() -> Daemon:
            return await stack.enter_async_context(daemon(*command, port=port))

        board = await again()
        fleet = await stack.enter_async_context(_fleet(count, broker))
        await until_whole(board, count, time.monotonic())
        await asyncio.sleep(_SETTLING_S)
        lines = [f"{count} sites:", *await _delays(board, broker, fleet, seconds)]
        if is_most:
            lines += await _dom(board, seconds)
            board, words = await _board_killed(count, again, board)
            lines += [*words, *await _broker_killed(board, broker, count)]
        return lines


async def _delays(board: Daemon, broker: OpenBroker, fleet: list[int], seconds: float) -> list[str]:
    costs = {"board": [board.process.pid], "broker": [broker.pid], "sites": fleet}
    before = {name: sum(map(cpu_seconds, pids)) for name, pids in costs.items()}
    on_board, on_site = await asyncio.gather(
        watch_board(board, seconds), watch_site(board, site_options(0).site, seconds)
    )
    shares = {
        name: (sum(map(cpu_seconds, pids)) - before[name]) / seconds for name, pids in costs.items()
    }
    told = ", ".join(f"{name} {share:.0%}" for name, share in shares.items())
    return [
        f"  reading to board stream {on_board.words()} ({_TARGET})",
        f"  reading to one site's stream {on_site.words()}",
        f"  of one core: {told}; board {resident_mb(board.process.pid):.0f} MB resident, "
        f"{on_board.bytes / seconds / 1024:.0f} KB/s and {on_board.messages / seconds:.0f} "
        f"messages/s to a page; {load()}",
    ]


async def _dom(board: Daemon, seconds: float) -> list[str]:
    ages, rows = await watch_dom(board, seconds)
    return [f"  reading to the DOM of a page with {rows} rows {ages.words()}; {load()}"]


async def _board_killed(count: int, again: Again, board: Daemon) -> tuple[Daemon, list[str]]:
    """It is started again at once, and has only what the broker keeps."""
    board.kill()
    await board.process.wait()
    began = time.monotonic()
    board = await again()
    ready_s = time.monotonic() - began
    whole_s = await until_whole(board, count, began)
    words = (
        f"  board killed and started at once: ready after {ready_s:.1f} s, its page whole after "
        f"{whole_s:.1f} s (target <= 2 s); {load()}"
    )
    return board, [words]


async def _broker_killed(board: Daemon, broker: OpenBroker, count: int) -> list[str]:
    """With nothing kept on its disk: all state has to come from the sites again."""
    broker.kill()
    began = time.monotonic()
    broker.start()
    live_s = await until_live(board, count, began)
    return [
        f"  broker killed and started at once: every site live again after {live_s:.1f} s; {load()}"
    ]


@asynccontextmanager
async def _fleet(count: int, broker: OpenBroker) -> AsyncIterator[list[int]]:
    """The simulated sites; their processes."""
    address = f"127.0.0.1:{broker.port}"
    command = ("-m", "tests.bench.stamped_sites", str(count), address, str(PROCESSES))
    process = await asyncio.create_subprocess_exec(
        sys.executable, *command, stdout=asyncio.subprocess.PIPE
    )
    assert process.stdout is not None
    await process.stdout.readline()
    await asyncio.sleep(0.5)  # it has its children by then
    try:
        yield [process.pid, *children(process.pid)]
    finally:
        process.terminate()
        await process.wait()


def main() -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.many_sites", description=__doc__)
    parser.add_argument("--sites", type=int, nargs="*", default=SITES, metavar="N")
    parser.add_argument("--seconds", type=float, default=SECONDS, help="watched for so long")
    parser.add_argument("--delays-only", action="store_true", help="no page, no failures")
    parser.add_argument(
        "--outage",
        type=float,
        nargs="?",
        const=OUTAGE_S,
        metavar="SECONDS",
        help="kill the broker for so long under real daemons, too",
    )
    asked = parser.parse_args()
    is_whole = not asked.delays_only
    print(asyncio.run(_measure(asked.sites, asked.seconds, asked.outage, is_whole)))


if __name__ == "__main__":
    main()
