"""``python -m pullcall.api.icons``: writes the page's icons, drawn from one list of shapes."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from pathlib import Path

from pullcall.api.pages import PAGE

Point = tuple[float, float]
Shape = tuple[str, tuple[Point, ...]]

_GROUND = "#0e1016"
_SIDE = 64.0  # of the square that the shapes are drawn in
_SAFE = 0.56  # so small, all of it lies in the circle that phones leave when they cut an icon
_FINE = 4  # samples along each side of a pixel
_SIZES = (192, 512)


def _cheque(x: float, y: float, height: float) -> Shape:
    return "#ffffff", ((x, y), (x + 8, y), (x + 8, y + height), (x, y + height))


#: Two lanes and the chequered line.
_SHAPES: tuple[Shape, ...] = (
    ("#9fb8ff", ((6, 8), (28, 8), (24, 56), (6, 56))),
    ("#ff9fdc", ((36, 24), (58, 24), (58, 56), (32, 56))),
    *(_cheque(x, 50, 7) for x in (0, 16, 32, 48)),
    *(_cheque(x, 57, 7) for x in (8, 24, 40, 56)),
)


def icons() -> Iterator[tuple[str, bytes]]:
    """Every icon: its file's name and content."""
    for name, shapes in (("icon", _SHAPES), ("icon-maskable", _shrunk(_SHAPES))):
        yield f"{name}.svg", _svg(shapes)
        for size in _SIZES:
            yield f"{name}-{size}.png", _png(shapes, size)


def write(folder: Path = PAGE) -> None:
    """Write them all."""
    for name, content in icons():
        (folder / name).write_bytes(content)


def _shrunk(shapes: tuple[Shape, ...]) -> tuple[Shape, ...]:
    off = _SIDE * (1 - _SAFE) / 2
    return tuple(
        (colour, tuple((x * _SAFE + off, y * _SAFE + off) for x, y in points))
        for colour, points in shapes
    )


def _svg(shapes: tuple[Shape, ...]) -> bytes:
    lines = ['<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">']
    lines.append(f'<rect width="64" height="64" fill="{_GROUND}"/>')
    for colour, points in shapes:
        path = "L".join(f"{x:g} {y:g}" for x, y in points)
        lines.append(f'<path d="M{path}z" fill="{colour}"/>')
    return "\n".join([*lines, "</svg>", ""]).encode()


def _png(shapes: tuple[Shape, ...], size: int) -> bytes:
    """A PNG of 8-bit RGB. Source: W3C Portable Network Graphics, chunks IHDR, IDAT and IEND."""
    rows = b"".join(b"\0" + row for row in _rows(shapes, size))
    header = struct.pack(">IIBBBBB", size, size, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(rows, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*chunk) for chunk in chunks)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _rows(shapes: tuple[Shape, ...], size: int) -> Iterator[bytes]:
    """Rows of pixels, each the mean of its samples: along x exact, along y ``_FINE`` lines."""
    scale = size / _SIDE
    for row in range(size):
        means = [[0.0, 0.0, 0.0] for _ in range(size)]
        for line in range(_FINE):
            y = (row + (line + 0.5) / _FINE) / scale
            for mean, colour in zip(means, _line(shapes, y, size, scale), strict=True):
                for i in range(3):
                    mean[i] += colour[i] / _FINE
        yield bytes(round(part) for mean in means for part in mean)


def _line(shapes: tuple[Shape, ...], y: float, size: int, scale: float) -> list[list[float]]:
    line = [list(_rgb(_GROUND)) for _ in range(size)]
    for colour, points in shapes:
        span = _span(points, y)
        if span is None:
            continue
        for x in range(int(span[0] * scale), min(size, int(span[1] * scale) + 1)):
            share = min(x + 1, span[1] * scale) - max(x, span[0] * scale)
            part = max(0.0, share)
            line[x] = [
                old + (new - old) * part for old, new in zip(line[x], _rgb(colour), strict=True)
            ]
    return line


def _span(points: tuple[Point, ...], y: float) -> tuple[float, float] | None:
    """Where a convex shape is cut at ``y``."""
    crossings = [
        x0 + (x1 - x0) * (y - y0) / (y1 - y0)
        for (x0, y0), (x1, y1) in zip(points, (*points[1:], points[0]), strict=True)
        if (y0 <= y) != (y1 <= y)
    ]
    return (min(crossings), max(crossings)) if crossings else None


def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = bytes.fromhex(colour.removeprefix("#"))
    return float(red), float(green), float(blue)


if __name__ == "__main__":
    write()
