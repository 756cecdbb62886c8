"""Settings for every test."""

from __future__ import annotations

import os

from hypothesis import settings

from tests.unhurried import unhurried

__all__ = ["unhurried"]

# No test asserts wall time, and a busy machine is no failure. Examples are drawn the same way each
# time, so that a run which passed passes again; PULLCALL_EXPLORE=1 draws new ones.
settings.register_profile(
    "pullcall", deadline=None, derandomize=not os.environ.get("PULLCALL_EXPLORE")
)
settings.load_profile("pullcall")
