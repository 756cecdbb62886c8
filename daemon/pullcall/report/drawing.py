"""SVG by hand: lines, curves, words and shapes, with a look of their own where no style reaches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pullcall.report.markup import Markup, element, joined, number
from pullcall.report.pens import Pen

#: Size of the words, in units of the drawing (CSS pixels where it is shown at its own width).
TEXT = 11.0
Point = tuple[float, float]


def drawing(width: float, height: float, title: str, parts: Iterable[str]) -> Markup:
    """A whole drawing; ``title`` says in words what it shows."""
    paper = element("rect", width=width, height=height, fill="#ffffff", class_="paper")
    return element(
        "svg",
        joined((element("title", title), paper, *parts)),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=width,
        height=height,
        role="img",
        aria_label=title,
        class_="drawing",
        color="#14121a",
        fill="currentColor",
        font_family="system-ui, 'Noto Sans', 'Liberation Sans', sans-serif",
        font_size=TEXT,
    )


def line(begin: Point, end: Point, width: float = 1.0, **more: str | float | None) -> Markup:
    """A straight line in the ink of the drawing."""
    (x1, y1), (x2, y2) = begin, end
    more.setdefault("stroke", "currentColor")
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke_width=width, **more)


def faint(begin: Point, end: Point) -> Markup:
    """A line of the grid."""
    return line(begin, end, 0.6, stroke_opacity="0.25")


def curve(points: Sequence[Point], pen: Pen, width: float = 2.0) -> Markup:
    """A curve through the points."""
    return element(
        "polyline",
        points=" ".join(f"{x:.1f},{y:.1f}" for x, y in points),
        fill="none",
        stroke=pen.colour,
        stroke_width=width,
        stroke_dasharray=pen.dashes,
        stroke_linejoin="round",
        class_=f"pen {pen.name}",
    )


def text(at: Point, told: str, anchor: str = "start", **more: str | float | None) -> Markup:
    """Words beginning (``start``), centred (``middle``) or ending (``end``) at a place."""
    anchored = None if anchor == "start" else anchor
    return element("text", told, x=at[0], y=at[1], text_anchor=anchored, **more)


def named(at: Point, told: str, pen: Pen, anchor: str = "start") -> Markup:
    """Words in a pen's colour."""
    return text(at, told, anchor, fill=pen.colour, class_=f"ink {pen.name}", font_weight="700")


def shape(points: Iterable[Point], pen: Pen, filled: bool = True) -> Markup:
    """A closed shape; open ones show the paper inside."""
    return element(
        "polygon",
        points=" ".join(f"{x:.1f},{y:.1f}" for x, y in points),
        fill=pen.colour if filled else "#ffffff",
        stroke=pen.colour,
        stroke_width=1.5,
        class_=f"pen {'ink' if filled else 'hollow'} {pen.name}",
    )


def dot(at: Point, radius: float, pen: Pen, filled: bool = True) -> Markup:
    """A dot, filled or open."""
    return element(
        "circle",
        cx=at[0],
        cy=at[1],
        r=radius,
        fill=pen.colour if filled else "#ffffff",
        stroke=pen.colour,
        stroke_width=1.5,
        class_=f"pen {'ink' if filled else 'hollow'} {pen.name}",
    )
