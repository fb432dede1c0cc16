package render

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// document is the contract as a reader of it would write it down.
type document struct {
	Unit, Axes, Reference, Customer, Style, Date string
	Revision                                     int
	Pieces                                       []struct {
		Name, Title string
		Cut         struct {
			Count  int
			OnFold bool `json:"on_fold"`
			Pair   bool
		}
		Grain    []point
		SeamLine []point `json:"seam_line"`
		CutLine  []point `json:"cut_line"`
		Edges    []struct {
			Name, Role string
			Points     []point
			Length     float64 `json:"length_mm"`
			Allowance  float64 `json:"allowance_mm"`
		}
		Darts []struct {
			Name, Mouth string
			Legs        [2][]point
			Apexes      []point
			Pressed     int
		}
		Notches []struct {
			Edge  string
			At    float64 `json:"at_mm"`
			Point point
			Kind  string
		}
		Marks []struct {
			Name, Kind string
			Point      point
		}
		Lines []struct {
			Name   string
			Points []point
		}
	}
	Seams []struct {
		A, B string
		Ease float64 `json:"ease_mm"`
	}
	Checks []struct {
		Name       string
		Body       float64 `json:"body_mm"`
		Alteration float64 `json:"alteration_mm"`
		Ease       float64 `json:"ease_mm"`
		Target     float64 `json:"target_mm"`
		Drafted    float64 `json:"drafted_mm"`
		Difference float64 `json:"difference_mm"`
		Estimated  bool
		Spread     float64 `json:"spread_mm"`
	}
	Warnings []string
}

func written(t testing.TB, p finish.Pattern) ([]byte, document) {
	t.Helper()
	data, err := JSON(p)
	if err != nil {
		t.Fatal(err)
	}
	var d document
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&d); err != nil {
		t.Fatal(err)
	}
	return data, d
}

// jsonSamples are drafts that between them have everything that can be written.
func jsonSamples(t testing.TB) []finish.Pattern {
	return []finish.Pattern{
		torso(t, nil),
		torso(t, func(o *drafting.Order) {
			o.Choices["bust_dart"] = block.Value{Word: "shoulder"}
			o.Choices["centre_front"] = block.Value{Word: "seam"}
			o.Choices["length"] = block.Value{Word: "knee"}
		}),
		torso(t, func(o *drafting.Order) { o.Choices["sleeve"] = block.Value{Word: "none"} }),
	}
}

// Everything of the pattern is written, every point within the chord error.
func TestJSONHoldsThePattern(t *testing.T) {
	t.Parallel()
	for _, p := range jsonSamples(t) {
		_, d := written(t, p)
		if d.Unit != "mm" || d.Reference != p.Info.Reference || d.Revision != p.Info.Revision || d.Style != p.Info.Style || d.Date != p.Info.Date {
			t.Errorf("head %+v for %+v", d, p.Info)
		}
		if len(d.Pieces) != len(p.Pieces) || len(d.Seams) != len(p.Seams) || len(d.Checks) != len(p.Checks) || len(d.Warnings) != len(p.Warnings) {
			t.Fatalf("%d pieces, %d seams, %d checks, %d warnings", len(d.Pieces), len(d.Seams), len(d.Checks), len(d.Warnings))
		}
		for i, piece := range p.Pieces {
			checkPiece(t, d, i, piece)
		}
		edges := make(map[string]bool)
		for _, piece := range d.Pieces {
			for _, e := range piece.Edges {
				edges[piece.Name+"/"+e.Name] = true
			}
		}
		for i, s := range d.Seams {
			if !edges[s.A] || !edges[s.B] {
				t.Errorf("seam of %s and %s: no such edge", s.A, s.B)
			}
			if s.A != p.Seams[i].A.String() || math.Abs(s.Ease-p.Seams[i].Ease) > 0.0005 {
				t.Errorf("seam %+v for %+v", s, p.Seams[i])
			}
		}
		for i, c := range d.Checks {
			want := p.Checks[i]
			if c.Name != want.Name || c.Estimated != want.Estimated || math.Abs(c.Drafted-want.Drafted) > 0.0005 ||
				math.Abs(c.Target-want.Target) > 0.0005 || math.Abs(c.Difference-(want.Drafted-want.Target)) > 0.0005 ||
				math.Abs(c.Body-want.Body) > 0.0005 || math.Abs(c.Ease-want.Ease) > 0.0005 ||
				math.Abs(c.Alteration-want.Alteration) > 0.0005 || math.Abs(c.Spread-want.Spread) > 0.0005 {
				t.Errorf("check %+v for %+v", c, want)
			}
		}
	}
}

func checkPiece(t *testing.T, d document, i int, piece finish.Piece) {
	got := d.Pieces[i]
	fail := func(format string, args ...any) {
		t.Helper()
		t.Errorf(got.Name+": "+format, args...)
	}
	if got.Name != piece.Name || got.Title != piece.Title || got.Cut.Count != piece.Cut.Count || got.Cut.OnFold != piece.Cut.OnFold || got.Cut.Pair != piece.Cut.Pair {
		fail("head %+v for %+v", got, piece.Piece)
	}
	if len(got.Grain) != 2 || len(got.Edges) != len(piece.Edges) || len(got.Darts) != len(piece.Darts) || len(got.Notches) != len(piece.Notches) || len(got.Marks) != len(piece.Marks) || len(got.Lines) != len(piece.Lines) {
		fail("%d edges, %d darts, %d notches, %d marks, %d lines", len(got.Edges), len(got.Darts), len(got.Notches), len(got.Marks), len(got.Lines))
		return
	}
	for what, line := range map[string]struct {
		points []point
		path   geom.Path
	}{"seam line": {got.SeamLine, piece.Outline()}, "cut line": {got.CutLine, piece.CutLine}} {
		if line.points[0] != line.points[len(line.points)-1] {
			fail("the %s is not closed", what)
		}
		within(t, got.Name+", "+what, line.points, line.path)
	}
	var joined []point
	for j, e := range got.Edges {
		want := piece.Edges[j]
		if e.Name != want.Name || e.Role != string(want.Role) || math.Abs(e.Length-want.Path.Length()) > 0.0006 || e.Allowance != piece.Allowances[j] {
			fail("edge %s %s %g mm, allowance %g", e.Name, e.Role, e.Length, e.Allowance)
		}
		within(t, got.Name+"/"+e.Name, e.Points, want.Path)
		if j > 0 && joined[len(joined)-1] != e.Points[0] {
			fail("edge %s starts away from the one before", e.Name)
		}
		joined = append(joined[:max(len(joined)-1, 0)], e.Points...)
	}
	if joined[len(joined)-1] = joined[0]; !slices.Equal(joined, got.SeamLine) {
		fail("the edges do not make up the seam line")
	}
	for j, n := range got.Notches {
		e, _ := piece.Edge(n.Edge)
		if at := e.Path.At(n.At); math.Hypot(at.X-n.Point[0], at.Y-n.Point[1]) > 0.002 {
			fail("notch %d at %v, %g mm along %s is %v", j, n.Point, n.At, n.Edge, at)
		}
	}
}

// within checks both ways: the points lie on the curve, the curve lies by the
// polyline.
func within(t *testing.T, what string, points []point, path geom.Path) {
	t.Helper()
	var line geom.Path
	for i := 1; i < len(points); i++ {
		line = append(line, geom.Line(geom.Pt(points[i-1][0], points[i-1][1]), geom.Pt(points[i][0], points[i][1])))
	}
	for _, p := range points {
		if _, d, _ := path.Nearest(geom.Pt(p[0], p[1])); d > 0.001 {
			t.Errorf("%s: %v is %.4f mm from the curve", what, p, d)
			return
		}
		for _, v := range p {
			if math.Abs(v*1000-math.Round(v*1000)) > 1e-6 {
				t.Errorf("%s: %v is not rounded", what, p)
				return
			}
		}
	}
	for _, s := range path {
		for k := range 40 {
			q := s.At(float64(k) / 40)
			if _, d, _ := line.Nearest(q); d > ChordError {
				t.Errorf("%s: the curve at %v is %.4f mm from the polyline", what, q, d)
				return
			}
		}
	}
}

// GEOS, by shapely, finds the outlines sound and as large as their curves, and
// each seam line inside its cut line.
func TestJSONOutlinesByGEOS(t *testing.T) {
	t.Parallel()
	const script = `
import json, sys
from shapely.geometry import Polygon
for p in json.load(sys.stdin)["pieces"]:
    cut, seam = Polygon(p["cut_line"]), Polygon(p["seam_line"])
    print(p["name"], cut.is_valid, seam.is_valid, repr(cut.area), repr(seam.area), cut.buffer(0.1).contains(seam), not cut.exterior.is_ccw)
`
	const python = "/usr/bin/python3"
	if exec.Command(python, "-c", "import shapely").Run() != nil {
		python := "python with shapely"
		read(t, python) // skips, or fails where readers are required
	}
	for _, p := range jsonSamples(t) {
		data, _ := written(t, p)
		cmd := exec.Command(python, "-c", script)
		cmd.Stdin = bytes.NewReader(data)
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		lines := strings.Split(strings.TrimSpace(string(out)), "\n")
		if len(lines) != len(p.Pieces) {
			t.Fatalf("%d pieces read:\n%s", len(lines), out)
		}
		for i, line := range lines {
			var name, cutValid, seamValid, inside, clockwise string
			var cut, seam float64
			if _, err := fmt.Sscan(line, &name, &cutValid, &seamValid, &cut, &seam, &inside, &clockwise); err != nil {
				t.Fatalf("%q: %v", line, err)
			}
			piece := p.Pieces[i]
			if cutValid != "True" || seamValid != "True" || inside != "True" {
				t.Errorf("%s: cut line valid %s, seam line valid %s and inside it %s", name, cutValid, seamValid, inside)
			}
			// y runs down here and up there, so clockwise as seen reads anticlockwise
			if clockwise != "False" {
				t.Errorf("%s runs the wrong way round", name)
			}
			if math.Abs(cut-piece.CutLine.Area()) > 30 || math.Abs(seam-piece.Outline().Area()) > 30 {
				t.Errorf("%s: areas %g and %g, by the curves %g and %g", name, cut, seam, piece.CutLine.Area(), piece.Outline().Area())
			}
		}
	}
}

func TestJSONEmptyAndBroken(t *testing.T) {
	t.Parallel()
	data, _ := written(t, finish.Pattern{Pieces: []finish.Piece{{}}})
	if bytes.Contains(data, []byte("null")) {
		t.Errorf("an empty list is null: %s", data)
	}
	p := torso(t, nil)
	p.Pieces[0].CutLine = geom.Polyline(geom.Pt(0, 0), geom.Pt(math.NaN(), 1), geom.Pt(0, 0))
	if _, err := JSON(p); err == nil {
		t.Error("NaN is written")
	}
}

func TestJSONSameBytes(t *testing.T) {
	t.Parallel()
	a, _ := written(t, torso(t, nil))
	b, _ := written(t, torso(t, nil))
	if !bytes.Equal(a, b) {
		t.Error("other bytes")
	}
}

func TestRoundHasNoMinusZero(t *testing.T) {
	t.Parallel()
	if v := round(-0.0001); math.Signbit(v) {
		t.Error("-0")
	}
	if v := round(1234.56789); v != 1234.568 {
		t.Error(v)
	}
}

func BenchmarkJSON(b *testing.B) {
	p := torso(b, nil)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := JSON(p); err != nil {
			b.Fatal(err)
		}
	}
}
