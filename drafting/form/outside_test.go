package form

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/shapelytest"
)

// slicesInPython cuts triangles by levels, joins what is cut to polygons, and answers with the
// girth of the hull of the largest, and with the volume between the first and the last
// level by Simpson's rule.
const slicesInPython = `
import json, sys
from shapely.geometry import LineString
from shapely.ops import polygonize
q = json.load(sys.stdin)
P, T = q["points"], q["triangles"]
girths, areas = [], []
for y in q["levels"]:
    lines = []
    for t in T:
        cut = []
        for a, b in ((0, 1), (1, 2), (2, 0)):
            p, r = P[t[a]], P[t[b]]
            if (p[1] > y) != (r[1] > y):
                if p > r: p, r = r, p
                s = (y - p[1]) / (r[1] - p[1])
                cut.append((round(p[0] + s * (r[0] - p[0]), 9), round(p[2] + s * (r[2] - p[2]), 9)))
        if len(cut) == 2 and cut[0] != cut[1]:
            lines.append(LineString(cut))
    polygons = list(polygonize(lines))
    areas.append(sum(p.area for p in polygons))
    girths.append(max(polygons, key=lambda p: p.area).convex_hull.length)
step = (q["levels"][-1] - q["levels"][0]) / (len(areas) - 1)
volume = step / 3 * sum(a * (1 if i in (0, len(areas) - 1) else 4 if i % 2 else 2) for i, a in enumerate(areas))
json.dump({"girths": girths, "volume": volume}, sys.stdout)
`

type sliced struct {
	Girths []float64
	Volume float64
}

// slicesOf asks for the slices of a surface at an odd number of levels.
func slicesOf(t *testing.T, f *Form, levels []float64) sliced {
	t.Helper()
	points := make([][3]float64, len(f.Points))
	for i, p := range f.Points {
		points[i] = [3]float64{p.X, p.Y, p.Z}
	}
	return shapelytest.Ask[sliced](t, map[string]any{"points": points, "triangles": f.Triangles, "levels": levels},
		"-c", slicesInPython)
}

// TestSectionsAgainstGEOS compares girths of the trunks of surfaces, as read and as made,
// with those of GEOS.
func TestSectionsAgainstGEOS(t *testing.T) {
	for _, name := range []string{"w-average", "w-full-bust", "w-petite"} {
		read, m := surface(t, name)
		for kind, f := range map[string]*Form{"read": read, "made": made(t, m)} {
			l := f.Landmarks
			var levels []float64
			for part := range 9 {
				// Below the armpits and above the crotch the trunk is the largest part of a section.
				levels = append(levels, l[Crotch].Y+40+float64(part)/8*(l[Armpit].Y-20-l[Crotch].Y-40))
			}
			for i, want := range slicesOf(t, f, levels).Girths {
				if got := f.TrunkGirth(levels[i]); math.Abs(got-want) > 0.01 {
					t.Errorf("%s, %s, at %.0f mm: %.3f mm, GEOS %.3f", name, kind, levels[i], got, want)
				}
			}
		}
	}
}

// ellipsoid returns an ellipsoid of half axes a, b and c about a point at height b.
func ellipsoid(a, b, c float64, around, up int) *Form {
	f := &Form{Points: []r3.Vec{{}, {Y: 2 * b}}}
	for j := 1; j < up; j++ {
		sin, cos := math.Sincos(math.Pi * float64(j) / float64(up))
		for i := range around {
			x, z := math.Sincos(2 * math.Pi * float64(i) / float64(around))
			f.Points = append(f.Points, r3.Vec{X: a * sin * x, Y: b - b*cos, Z: c * sin * z})
		}
	}
	at := func(j, i int) int {
		switch j {
		case 0:
			return 0
		case up:
			return 1
		}
		return 2 + (j-1)*around + i%around
	}
	for j := range up {
		for i := range around {
			if j > 0 {
				f.Triangles = append(f.Triangles, [3]int{at(j, i), at(j, i+1), at(j+1, i)})
			}
			if j < up-1 {
				f.Triangles = append(f.Triangles, [3]int{at(j, i+1), at(j+1, i+1), at(j+1, i)})
			}
		}
	}
	return f
}

// TestEllipsoid reads an ellipsoid: volume, area of a section and girth are those of
// geometry (Ramanujan 1914 for the girth), and the volume is that of GEOS.
func TestEllipsoid(t *testing.T) {
	const a, b, c = 200.0, 850.0, 130.0
	f := ellipsoid(a, b, c, 240, 240)
	if err := closed(f.Triangles, len(f.Points)); err != nil {
		t.Fatal(err)
	}
	want := 4 * math.Pi / 3 * a * b * c
	if got := f.Volume(); math.Abs(got/want-1) > 5e-4 {
		t.Errorf("volume %.0f mm3, want %.0f", got, want)
	}
	var levels []float64
	for i := range 61 {
		levels = append(levels, 1+(2*b-2)*float64(i)/60)
	}
	if outside := slicesOf(t, f, levels).Volume; math.Abs(f.Volume()/outside-1) > 1e-3 {
		t.Errorf("volume %.0f mm3, GEOS %.0f", f.Volume(), outside)
	}
	for _, y := range []float64{200, b, 1400} {
		part := math.Sqrt(1 - (y-b)*(y-b)/(b*b))
		p, q := a*part, c*part
		h := (p - q) * (p - q) / ((p + q) * (p + q))
		girth := math.Pi * (p + q) * (1 + 3*h/(10+math.Sqrt(4-3*h)))
		if got := f.TrunkGirth(y); math.Abs(got/girth-1) > 5e-4 {
			t.Errorf("at %.0f mm: girth %.2f mm, want %.2f", y, got, girth)
		}
		if got := areaOf(f.Section(y)[0]); math.Abs(got/(math.Pi*p*q)-1) > 5e-4 {
			t.Errorf("at %.0f mm: area %.0f mm2, want %.0f", y, got, math.Pi*p*q)
		}
		if got := f.Depth(y, 0, 1); math.Abs(got-q) > 0.1 {
			t.Errorf("at %.0f mm: depth %.2f mm, want %.2f", y, got, q)
		}
	}
}

// areaOf returns the area within a loop.
func areaOf(loop []r2.Vec) float64 {
	sum := 0.0
	for i, p := range loop {
		sum += r2.Cross(p, loop[(i+1)%len(loop)]) / 2
	}
	return math.Abs(sum)
}
