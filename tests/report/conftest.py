"""Reports are looked at in the browser."""

from tests.browser import browser

__all__ = ["browser"]
