"""The icons are what their one list of shapes draws."""

from __future__ import annotations

import struct
import zlib
from functools import cache

import pytest

from pullcall.api.icons import icons
from pullcall.api.pages import PAGE

NAMES = sorted(path.name for path in PAGE.glob("icon*.*"))


@cache
def _drawn() -> dict[str, bytes]:
    """Drawn once, and only where these tests run: it takes seconds."""
    return dict(icons())


def _size(png: bytes) -> tuple[int, int]:
    """Source: W3C Portable Network Graphics, the IHDR chunk stands first."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n" and png[12:16] == b"IHDR"
    width, height = struct.unpack(">II", png[16:24])
    return width, height


def _pixels(png: bytes) -> bytes:
    at = png.index(b"IDAT")
    (length,) = struct.unpack(">I", png[at - 4 : at])
    return zlib.decompress(png[at + 4 : at + 4 + length])


def test_every_icon_of_the_page_is_one_that_is_drawn() -> None:
    assert sorted(_drawn()) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_the_icon_in_the_page_is_the_one_that_is_drawn(name: str) -> None:
    kept = (PAGE / name).read_bytes()
    if name.endswith(".svg"):
        assert kept == _drawn()[name]
        return
    # Only the pixels count: compressors differ.
    assert _size(kept) == _size(_drawn()[name])
    assert _pixels(kept) == _pixels(_drawn()[name])


def test_of_a_maskable_icon_only_the_ground_lies_outside_the_safe_circle() -> None:
    # Source: W3C Web Application Manifest, safe zone: a circle of 40 % of the side.
    size = 192
    rows = _pixels(_drawn()["icon-maskable-192.png"])
    ground = rows[1:4]
    stride = 1 + 3 * size
    for y in range(size):
        for x in range(size):
            if (x + 0.5 - size / 2) ** 2 + (y + 0.5 - size / 2) ** 2 > (0.4 * size) ** 2:
                at = y * stride + 1 + 3 * x
                assert rows[at : at + 3] == ground
