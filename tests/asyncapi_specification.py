"""The AsyncAPI specification's own JSON schema. For tests only.

Source: the npm package @asyncapi/specs of the AsyncAPI Initiative, licence Apache-2.0; it is
fetched, checked by its sum, and in no commit or wheel.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.tools import require_package

NAME = "@asyncapi/specs"
VERSION = "6.11.1"
#: From ``npm view @asyncapi/specs@6.11.1 dist.integrity``.
SHA512 = "A3WBLqAKGoJ2+6FWFtpjBlCQ1oFCcs4GxF7zsIGvNqp/klGUHjlA3aAcZ9XMMpLGE8zPeYDz2x9FmO6DSuKraQ=="
FILE = "schemas/3.0.0.json"
FOLDER = Path(__file__).parents[1] / "build" / "tests" / "asyncapi-specs"


def require_specification() -> dict[str, Any]:
    """The schema of an AsyncAPI 3.0.0 document; skips or fails where it cannot be had."""
    require_package(NAME, VERSION, SHA512, (FILE,), FOLDER)
    schema: dict[str, Any] = json.loads((FOLDER / Path(FILE).name).read_text(encoding="utf-8"))
    return schema
