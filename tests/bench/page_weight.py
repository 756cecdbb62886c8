"""Bytes a phone loads before the page works: everything the server serves as page."""

from __future__ import annotations

from pullcall.api.pages import PAGE


async def measure() -> str:
    """Kilobytes over the wire (nothing is compressed) against the target."""
    total = sum(file.stat().st_size for file in PAGE.rglob("*") if file.is_file())
    return f"{total / 1024:.0f} KB over the wire (target <= 150 KB)"
