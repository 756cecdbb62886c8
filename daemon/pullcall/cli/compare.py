"""``pullcall compare COOK COOK …``: two to six cooks side by side."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

from pullcall.cli.common import add_config
from pullcall.cli.table import table
from pullcall.cli.worked_out import Known, add_unit, known, unit_of, write
from pullcall.errors import ConfigError
from pullcall.printable import printable
from pullcall.report.comparison import Comparison, compare
from pullcall.report.comparison_sheet import comparison_sheet, figure, name
from pullcall.report.places import MOST_COOKS, letter


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("compare", help="two to six cooks side by side")
    parser.add_argument(
        "cooks", metavar="COOK", nargs="+", help="cook files, ids of logged cooks, or last"
    )
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", help="HTML with the chart")
    add_unit(parser)
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the table, or write the sheet. Raises PullcallError with what to do."""
    if not 2 <= len(args.cooks) <= MOST_COOKS:
        raise ConfigError(f"Name two to {MOST_COOKS} cooks to compare.")
    cooks = [known(args, word) for word in args.cooks]
    ids = [cook.facts.cook for cook in cooks]
    twice = next((id for id in ids if ids.count(id) > 1), None)
    if twice is not None:
        raise ConfigError(f"Name cooks that differ: {twice} is there twice{_as(ids, args, twice)}.")
    facts, unit = [cook.facts for cook in cooks], unit_of(args)
    notes = {cook.facts.cook: cook.notes for cook in cooks}
    if args.output is None:
        print("\n".join(map(printable, _lines(cooks, compare(facts, notes, unit)))))
        return 0
    write(args.output, comparison_sheet(facts, notes, unit).encode("utf-8", errors="replace"))
    if str(args.output) != "-":
        print(f"Wrote {args.output}.", file=sys.stderr)
    return 0


def _as(ids: list[str], args: argparse.Namespace, twice: str) -> str:
    """Why, where the words were not the same."""
    words = {word for id, word in zip(ids, args.cooks, strict=True) if id == twice}
    return f" ({' and '.join(sorted(words))} mean the same cook)" if len(words) > 1 else ""


def _lines(cooks: list[Known], compared: Comparison) -> Iterator[str]:
    for n, cook in enumerate(cooks):
        yield f"{letter(n)}  {name(cook.facts, {cook.facts.cook: cook.notes}, None)}"
    yield ""
    head = ("", "", *(letter(n) for n in range(len(cooks))))
    rows = [(r.label, r.unit, *(figure(r, value) for value in r.values)) for r in compared.rows]
    yield from table([head, *rows])
    if compared.words:
        yield from ("", "What differed most:", *(f"  {words}" for words in compared.words))
