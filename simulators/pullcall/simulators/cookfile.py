"""``python -m pullcall.simulators.cookfile NAME``: a whole simulated cook as JSON Lines."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from pullcall.events import Input, Reading
from pullcall.log.cook_file import cook_lines
from pullcall.simulators.kitchen import Kitchen
from pullcall.simulators.scenario import Scenario, names, scenario


def inputs(cook: Scenario) -> Iterator[Input]:
    """Yield everything that happens in a cook, readings assigned to their steaks."""
    steaks = {scene.channel: scene.steak for scene in cook.steaks if scene.probe}
    for event in Kitchen(cook).advance(cook.lasts_s):
        yield (
            replace(event, steak=steaks.get(event.channel)) if isinstance(event, Reading) else event
        )


def lines(cook: Scenario) -> Iterator[str]:
    """Yield a whole cook as the lines of its file, the header first."""
    return cook_lines(cook.header(), inputs(cook))


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line."""
    parser = argparse.ArgumentParser(
        prog="python -m pullcall.simulators.cookfile",
        description="Write a whole simulated cook as JSON Lines.",
    )
    parser.add_argument("name", choices=names(), help="the scenario")
    parser.add_argument("--seed", type=int, default=1, help="another seed, another cook")
    parser.add_argument("-o", "--output", default="-", help="the file; - is standard output")
    asked = parser.parse_args(argv)
    text = "".join(f"{line}\n" for line in lines(scenario(asked.name, asked.seed)))
    if asked.output == "-":
        sys.stdout.write(text)
        return 0
    try:
        Path(asked.output).write_text(text, encoding="utf-8")
    except OSError as trouble:
        reason = trouble.strerror or trouble
        print(
            f"Cannot write {asked.output} ({reason}); name a file in a folder you may write to.",
            file=sys.stderr,
        )
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
