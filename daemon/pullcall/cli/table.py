"""Columns of text."""

from __future__ import annotations

from collections.abc import Iterable

from pullcall.printable import printable


def table(rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Rows of cells as lines with aligned columns; every row has as many cells.

    Names come from probes, files and phones: what does not print is written out.
    """
    lines = [tuple(map(printable, cells)) for cells in rows]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    ]
