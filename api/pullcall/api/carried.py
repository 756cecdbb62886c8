"""The chart library beside the page, where the build carried it (see api/build_hook.py)."""

from __future__ import annotations

from pathlib import Path

#: In a wheel it lies in the page's own folder, in a checkout in build/.
_FOLDERS = (Path(__file__).parent / "page", Path(__file__).parents[3] / "build")
_SCRIPT = "vendor/uplot/uPlot.iife.min.js"
_SHEET = "vendor/uplot/uPlot.min.css"
_NAMES = (_SCRIPT, _SHEET, "vendor/uplot/LICENSE")
#: Where index.html asks for the library, if there is one: before the page's own script.
_PLACE = "<!-- chart library -->"
_TAGS = (
    f'<link rel="stylesheet" href="page/{_SHEET}">\n<script defer src="page/{_SCRIPT}"></script>'
)


def carried() -> dict[str, Path]:
    """The library's files by their names below ``page/``; none unless all of them are there."""
    for folder in _FOLDERS:
        files = {name: folder / name for name in _NAMES}
        if all(file.is_file() for file in files.values()):
            return files
    return {}


def with_carried(index: str, is_carried: bool) -> str:
    """The page's index, asking for the library only where it would get it."""
    return index.replace(_PLACE, _TAGS if is_carried else "")
