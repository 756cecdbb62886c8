"""axe-core, which judges a page by the WCAG rules that a program can judge. For tests only.

Its licence is the MPL-2.0; it is fetched from npm, checked by its sum, and in no commit or wheel.
"""

from __future__ import annotations

from pathlib import Path

from tests.tools import require_package

NAME = "axe-core"
VERSION = "4.14.1"
#: From ``npm view axe-core@4.14.1 dist.integrity``.
SHA512 = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
FILE = "axe.min.js"
FOLDER = Path(__file__).parents[1] / "build" / "tests" / NAME


def require_axe() -> str:
    """The script, fetched if need be; skips or fails without it."""
    require_package(NAME, VERSION, SHA512, (FILE,), FOLDER)
    return (FOLDER / FILE).read_text(encoding="utf-8")
