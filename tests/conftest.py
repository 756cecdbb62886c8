"""Settings for every test."""

from __future__ import annotations

from hypothesis import settings

# No test asserts wall time, and a busy machine is no failure.
settings.register_profile("pullcall", deadline=None)
settings.load_profile("pullcall")
