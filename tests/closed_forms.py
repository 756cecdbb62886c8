"""Figures of conduction that both slabs, the forecast's and the simulator's, are held against."""

from __future__ import annotations

#: Cengel, Heat and Mass Transfer, Table 4-2 (same as Incropera Table 5.1): Bi, zeta1, C1.
ONE_TERM = [
    (0.01, 0.0998, 1.0017),
    (0.1, 0.3111, 1.0161),
    (0.2, 0.4328, 1.0311),
    (0.5, 0.6533, 1.0701),
    (1.0, 0.8603, 1.1191),
    (2.0, 1.0769, 1.1785),
    (3.0, 1.1925, 1.2102),
    (4.0, 1.2646, 1.2287),
    (5.0, 1.3138, 1.2403),
    (6.0, 1.3496, 1.2479),
    (8.0, 1.3978, 1.2570),
    (10.0, 1.4289, 1.2620),
]

#: Full series of the plane wall, computed with 60 terms, not published: Bi, Fo, centre, surface.
FULL_SERIES = [
    (0.5, 0.2, 0.97260, 0.79015),
    (0.5, 1.0, 0.69838, 0.55459),
    (1.0, 0.2, 0.95064, 0.64339),
    (1.0, 0.5, 0.77253, 0.50452),
    (1.0, 1.0, 0.53386, 0.34818),
    (5.0, 0.1, 0.97731, 0.30879),
    (5.0, 0.5, 0.52311, 0.13303),
    (10.0, 0.2, 0.82925, 0.12248),
    (50.0, 0.5, 0.38878, 0.01197),
]
