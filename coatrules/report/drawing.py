"""Our own drawings of a dog from its left side: an outline for each build, and over it the parts of the coat as named shapes.

Each build is a file of ``report/outlines``. Units are of no size: 0 to 200 from nose to tail, 0 to 150 from the ground up.
The shapes are named by the regions of the packaged profile ``points-of-the-dog``. They are cut off at the outline when they
are drawn, so they may reach over it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from attrs import frozen

from coatrules.disk import read
from coatrules.formats.values import Outline
from coatrules.reading import MAX_BYTES

Point = tuple[float, float]
Points = tuple[Point, ...]


@frozen
class Shape:
    """One part of the coat: its corners, rounded or not; ``at`` is where its number stands, outside with ``leader``."""

    points: Points
    at: Point
    rounded: bool = False
    leader: Point | None = None
    free: bool = False
    """Not cut off at the outline: ears, brows and tufts stand over it."""

    @property
    def line(self) -> Points:
        """The shape's edge as it is drawn."""
        return rounded(self.points) if self.rounded else self.points


@frozen
class Drawing:
    """A dog of one build. ``shapes`` are in the order of drawing: what comes later lies over what came before."""

    outline: Points
    far_legs: tuple[Points, ...]
    eye: Point
    nose: Points
    shapes: Mapping[str, Shape]

    @property
    def top(self) -> float:
        """How high it reaches, with its numbers."""
        numbers = (shape.at[1] + 4 for shape in self.shapes.values())  # half a number
        free = (y for shape in self.shapes.values() if shape.free for _, y in shape.line)
        return max(*numbers, *free, *(y for _, y in self.outline))


@cache
def drawing(name: Outline) -> Drawing:
    """The drawing of a build."""
    data = _data(name)
    return Drawing(
        outline=rounded(_points(data["outline"])),
        far_legs=tuple(rounded(_points(leg)) for leg in data["far_legs"]),
        eye=_point(data["eye"]),
        nose=rounded(_points(data["nose"])),
        shapes={region: _shape(shape) for region, shape in data["shapes"].items()},
    )


def _data(name: str) -> dict[str, Any]:
    """A build as its file says it, with what it takes from the one that it is ``like``."""
    data: dict[str, Any] = json.loads(read(Path(__file__).parent / "outlines" / f"{name}.json", MAX_BYTES))
    if "like" not in data:
        return data
    like = _data(data["like"])
    return like | data | {"shapes": like["shapes"] | data["shapes"]}


def _shape(data: Mapping[str, Any]) -> Shape:
    return Shape(
        points=_points(data["points"]),
        at=_point(data["at"]),
        rounded=data.get("rounded", False),
        leader=_point(data["leader"]) if "leader" in data else None,
        free=data.get("free", False),
    )


def _points(pairs: Iterable[Iterable[float]]) -> Points:
    return tuple(map(_point, pairs))


def _point(pair: Iterable[float]) -> Point:
    x, y = pair
    return x, y


def rounded(points: Points, steps: int = 4) -> Points:
    """A smooth closed line through the points (Catmull and Rom 1974, uniform), ``steps`` pieces between two."""
    n = len(points)
    line = []
    for i in range(n):
        p0, p1, p2, p3 = points[i - 1], points[i], points[(i + 1) % n], points[(i + 2) % n]
        for k in range(steps):
            t = k / steps
            line.append((_between(p0[0], p1[0], p2[0], p3[0], t), _between(p0[1], p1[1], p2[1], p3[1], t)))
    return tuple(line)


def _between(a: float, b: float, c: float, d: float, t: float) -> float:
    return 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
