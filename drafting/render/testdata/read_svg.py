"""Reads SVG files with svgelements. Standard input holds a JSON list of file
names; the answer holds for each the size in mm, and for every path with an id
its length in mm and points of it in mm, close together."""
import json
import math
import sys

import numpy
from svgelements import SVG, Close, Line, Move, Path, SimpleLine

STEPS = numpy.linspace(0, 1, 65)[1:]  # of a curve


def walk(path):
    """Points along a path, its corners among them, and its length by them."""
    points = []
    for s in path:
        if isinstance(s, Move):
            if points:
                raise ValueError("a path in two parts")
            points.append([s.end.x, s.end.y])
        elif isinstance(s, (Line, Close)):
            points.append([s.end.x, s.end.y])
        else:
            points += s.npoint(STEPS).tolist()
    return points, sum(map(math.dist, points, points[1:]))


answers = []
for name in json.load(sys.stdin):
    svg = SVG.parse(name, ppi=25.4, reify=True)  # a pixel is a mm
    paths = {}
    for e in svg.elements():
        if isinstance(e, SimpleLine):
            e = Path(e)
        if isinstance(e, Path) and e.id and not e.id.startswith("glyph"):
            points, length = walk(e)
            paths[e.id] = {"points": points, "length": length}
    answers.append({"width": svg.width, "height": svg.height, "paths": paths})
json.dump(answers, sys.stdout)
