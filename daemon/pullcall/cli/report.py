"""``pullcall report COOK``: the cook on one sheet, as HTML, a picture or PDF."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from pullcall.cli.common import add_config, add_cook
from pullcall.cli.worked_out import Known, add_unit, before, choices, known, unit_of, which, write
from pullcall.errors import ConfigError
from pullcall.hindsight.tally import told
from pullcall.learning.learn import learn, untaught
from pullcall.printable import printable
from pullcall.report.sheet import sheet


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("report", help="write a cook's report: what to change next time")
    add_cook(parser)
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", help="HTML (-: stdout)")
    parser.add_argument("--png", type=Path, metavar="FILE", help="as a picture for a phone")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="as one printed page")
    parser.add_argument("--against", metavar="COOK", help="instead of the earlier cooks of the log")
    add_unit(parser)
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write what was asked for. Raises PullcallError with what to do."""
    if not (args.output or args.png or args.pdf):
        raise ConfigError("Say where the report goes: -o FILE, --png FILE or --pdf FILE.")
    cook = known(args, args.cook)
    html = _report(args, cook)
    if args.output:
        write(args.output, html.encode("utf-8", errors="replace"))
    if args.png or args.pdf:
        _by_chromium(args, html)
    for target in (args.output, args.png, args.pdf):
        if target and str(target) != "-":
            print(printable(f"Wrote {target}: {which(cook.facts)}."), file=sys.stderr)
    return 0


def _report(args: argparse.Namespace, cook: Known) -> str:
    unit = unit_of(args)
    earlier = [known(args, args.against).facts] if args.against else before(args, cook.facts)
    cooks = [*earlier, cook.facts]
    lessons = learn(cooks, untaught(cook.facts.setup), choices(args))
    return sheet(cook.facts, earlier, cook.notes, unit, lessons, told(cooks, unit))


def _by_chromium(args: argparse.Namespace, html: str) -> None:
    from pullcall.cli.chromium import pdf_of, png_of

    if args.png:
        write(args.png, png_of(html))
    if args.pdf:
        write(args.pdf, pdf_of(html))
