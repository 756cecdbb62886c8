"""``python -m pullcall.hindsight LOG COOK``: work a cook out and keep what was found.

A process of its own that yields to all others. Prints the percent done now and then.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from pullcall.errors import PullcallError
from pullcall.hindsight.work import put_on_shelf

#: Everything else goes first.
_NICENESS = 15


def main() -> int:
    """Work one cook out; 1 and a sentence on standard error where it cannot be."""
    parser = argparse.ArgumentParser(prog="python -m pullcall.hindsight")
    parser.add_argument("log", type=Path, help="a cook log, or a cook file")
    parser.add_argument("cook", help="the cook's id")
    args = parser.parse_args()
    os.nice(_NICENESS)
    try:
        put_on_shelf(args.log, args.cook, _tell)
    except PullcallError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def _tell(percent: int) -> None:
    print(f"{percent} %", flush=True)


if __name__ == "__main__":
    sys.exit(main())
