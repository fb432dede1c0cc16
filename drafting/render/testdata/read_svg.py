"""Reads SVG files with svgelements. Standard input holds a JSON list of file
names; the answer holds for each the size in mm, and for every path with an id
its length in mm and points of it in mm, close together."""
import json
import sys

from svgelements import SVG, Close, Line, Move, Path, SimpleLine

STEPS = 24  # points of a curve


def walk(path):
    """Points along a path, its corners among them, and its length by them."""
    points, length = [], 0.0
    for s in path:
        if isinstance(s, Move):
            if points:
                raise ValueError("a path in two parts")
            points.append(s.end)
            continue
        n = 1 if isinstance(s, (Line, Close)) else STEPS
        points += [s.point((i + 1) / n) for i in range(n)]
        length += s.length(error=1e-7)
    return points, length


answers = []
for name in json.load(sys.stdin):
    svg = SVG.parse(name, ppi=25.4, reify=True)  # a pixel is a mm
    paths = {}
    for e in svg.elements():
        if isinstance(e, SimpleLine):
            e = Path(e)
        if isinstance(e, Path) and e.id and not e.id.startswith("glyph"):
            points, length = walk(e)
            paths[e.id] = {"points": [[p.x, p.y] for p in points], "length": length}
    answers.append({"width": svg.width, "height": svg.height, "paths": paths})
json.dump(answers, sys.stdout)
