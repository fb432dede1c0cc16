"""Measures cut lines with GEOS (shapely). Reads pieces as JSON on standard
input and answers for each, in mm: by how much the distance of its cut line
from the nearest edge misses that edge's allowance, away from corners; and for
a piece with one allowance all round, how far the cut line and the outline
that GEOS draws are apart and by what share their areas differ."""
import json
import sys

from shapely.geometry import LineString, Point, Polygon

MITRE = 2  # join style


def walk(line, step=2.0):
    """Points along a line, one every step mm."""
    n = max(1, int(line.length / step))
    return [line.interpolate((i + 0.5) / n, normalized=True) for i in range(n)]


def away(point, corners):
    return all(point.distance(at) > zone for at, zone in corners)


answers = []
for piece in json.load(sys.stdin, object_hook=lambda d: [d["X"], d["Y"]] if d.keys() == {"X", "Y"} else d):
    cut = LineString(piece["cut"])
    corners = [(Point(c["at"]), c["zone"]) for c in piece["corners"]]
    edges = [(LineString(e["points"]), e["allowance"]) for e in piece["edges"]]
    points = [p for p in walk(cut) if away(p, corners)]
    misses = []
    for p in points:
        d, allowance = min((line.distance(p), a) for line, a in edges)
        misses.append(abs(d - allowance))
    answer = {"points": len(points), "edges": max(misses, default=0.0)}
    if piece.get("uniform"):
        ring = Polygon(piece["seam"]).buffer(piece["uniform"], 64, join_style=MITRE, mitre_limit=piece["mitre"])
        drawn = ring.exterior
        sharp = [(Point(piece["sharp"]), 4 * piece["uniform"])] if piece.get("sharp") else []
        answer["outline"] = max(
            max(p.distance(cut) for p in walk(drawn) if away(p, sharp)),
            max(p.distance(drawn) for p in walk(cut) if away(p, sharp)),
        )
        answer["area"] = abs(ring.area - Polygon(piece["cut"]).area) / ring.area
    answers.append(answer)
json.dump(answers, sys.stdout)
