"""Measures what geos_test.go sends, with GEOS through Shapely.

Reads a JSON list of cases from standard input and writes the list of results.
Points are [x, y] in mm, y down; nothing asked here depends on which way y goes.
"""

import json
import sys

from shapely.geometry import LineString, MultiPoint, Point, Polygon


def boundary(shape):
    """The rings of a shape, the largest part first, as lists of points."""
    parts = list(getattr(shape, "geoms", [shape]))
    parts = [p for p in parts if not p.is_empty]
    parts.sort(key=lambda p: -p.exterior.length)
    return [list(p.exterior.coords) for p in parts]


def apart(a, b, keep):
    """The greatest distance between two lines, both ways, at some 200 of their
    points, those that keep is true of."""
    def farthest(x, y):
        points = [Point(p) for p in list(x.coords)[:: 1 + len(x.coords) // 200]]
        return max(y.distance(p) for p in points if keep(p))

    return max(farthest(a, b), farthest(b, a))


def area(case):
    return Polygon(case["p"]).area


def outline(case):
    """How far an outline's parallel lies from GEOS's buffer with mitres, but for
    the tips of the mitres; and by what area the two differ."""
    shape = Polygon(case["p"])
    grown = shape.buffer(case["d"], join_style=2, mitre_limit=case["mitre"])
    rings = boundary(grown)
    if not rings:
        return {"parts": 0}
    ours = Polygon(case["q"])
    theirs = Polygon(rings[0])
    return {
        "parts": len(rings),
        "apart": apart(
            LineString(rings[0]),
            LineString(case["q"]),
            lambda p: shape.exterior.distance(p) < abs(case["d"]) + 0.05,
        ),
        "area": theirs.area,
        "difference": ours.symmetric_difference(theirs).area,
    }


def side(case):
    """The least and the greatest distance of an open line's parallel from it.
    (The parallels and buffers that GEOS 3.11 makes of finely flattened open
    lines lose parts of them; its distances can be relied on.)"""
    line = LineString(case["p"])
    points = case["q"][:: 1 + len(case["q"]) // 200] + case["q"][-1:]
    return [f(line.distance(Point(q)) for q in points) for f in (min, max)]


def contains(case):
    shape = Polygon(case["p"])
    return [shape.contains(Point(q)) for q in case["q"]]


def crossings(case):
    shared = LineString(case["p"]).intersection(LineString(case["q"]))
    if shared.is_empty:
        return []
    if isinstance(shared, Point):
        return [list(shared.coords[0])]
    if isinstance(shared, MultiPoint):
        return [list(g.coords[0]) for g in shared.geoms]
    return None


def simple(case):
    return LineString(case["p"]).is_simple


KINDS = {f.__name__: f for f in (area, outline, side, contains, crossings, simple)}

# A point of the tests is {"X": x, "Y": y}.
cases = json.load(sys.stdin, object_hook=lambda d: [d["X"], d["Y"]] if d.keys() == {"X", "Y"} else d)
json.dump([KINDS[case["kind"]](case) for case in cases], sys.stdout)
