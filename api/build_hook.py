"""Carries the chart library into the wheel: fetched when it is built, in no commit.

Without npm or a network the build goes on and says so; the page then draws its own curves.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

sys.path.append(str(Path(__file__).parent))  # a build runs this file by its path
from npm_package import NotFetchedError, fetch

NAME = "uplot"
VERSION = "1.6.32"
#: From ``npm view uplot@1.6.32 dist.integrity``.
SHA512 = "KIMVnG68zvu5XXUbC4LQEPnhwOxBuLyW1AHtpm6IKTXImkbLgkMy+jabjLgSLMasNuGGzQm/ep3tOkyTxpiQIw=="
#: The script and its sheet, and the licence that has to travel with them.
FILES = ("dist/uPlot.iife.min.js", "dist/uPlot.min.css", "LICENSE")
#: Where the files lie in a checkout (an editable install serves them from there) ...
IN_CHECKOUT = Path("build/vendor") / NAME
#: ... and in the wheel.
IN_WHEEL = Path("pullcall/api/page/vendor") / NAME


class CarryChartLibrary(BuildHookInterface[Any]):
    """Run by hatchling before a wheel, or an editable install, is put together."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fetch the files, and list them for the wheel unless ``version`` is "editable"."""
        into = Path(self.root) / IN_CHECKOUT
        try:
            fetch(NAME, VERSION, SHA512, FILES, into)
        except NotFetchedError as exc:
            self.app.display_warning(f"{exc} The page will draw its curves without {NAME}.")
            return
        if version != "editable":
            names = [Path(file).name for file in FILES]
            carried = {str(into / name): str(IN_WHEEL / name) for name in names}
            build_data["force_include"].update(carried)
