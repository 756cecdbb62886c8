"""What any route may answer besides what it is for, as the OpenAPI description says."""

from __future__ import annotations

from typing import Any

from pullcall.api.models import Problem
from pullcall.api.problem import MEDIA_TYPE

PROBLEMS: dict[int | str, dict[str, Any]] = {
    status: {"model": Problem, "content": {MEDIA_TYPE: {}}}
    for status in (400, 401, 403, 404, 408, 409, 413, 421, 422, 429, 503)
}
