package document_test

import (
	"bytes"
	"fmt"
	"math"
	"os/exec"
	"reflect"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/document"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/pattern"
)

// sample is a draft of a torso: every kind of thing that a document holds.
func sample(t testing.TB) finish.Pattern { return ordertest.Patterns(t)["torso"] }

func encoded(t testing.TB, d document.Document) []byte {
	t.Helper()
	data, err := d.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// Every sample order is the same pattern after it was stored and read back, and
// is stored the same again.
func TestStoredAndReadBack(t *testing.T) {
	t.Parallel()
	for name, p := range ordertest.Patterns(t) {
		data := encoded(t, document.New(p))
		d, err := document.Decode(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		back := d.Pattern()
		if again := encoded(t, document.New(back)); !bytes.Equal(again, data) {
			t.Errorf("%s is stored differently after it was read back", name)
		}
		back.Label = p.Label
		if !reflect.DeepEqual(back, p) {
			t.Errorf("%s differs after it was read back", name)
		}
	}
}

// What is written are the pattern's curves, rounded to 0.001 mm, without
// numbers that mean nothing.
func TestDocumentIsRounded(t *testing.T) {
	t.Parallel()
	p := sample(t)
	data := encoded(t, document.New(p))
	for number := range strings.FieldsFuncSeq(string(data),
		func(r rune) bool { return !strings.ContainsRune("-.0123456789eE", r) }) {
		if _, decimals, found := strings.Cut(number, "."); found && len(decimals) > 3 {
			t.Errorf("%s has more than three decimals", number)
		}
	}
	for _, unwanted := range []string{`"body_mm":0,`, `"reference"`, `"revision"`, "null"} {
		if bytes.Contains(data, []byte(unwanted)) {
			t.Errorf("a stored document contains %s", unwanted)
		}
	}
	d := document.New(p)
	for i, c := range d.Checks {
		if want := p.Checks[i]; math.Abs(c.Difference-want.Difference()) > 0.0011 || c.Name != want.Name {
			t.Errorf("check %+v for %+v", c, want)
		}
	}
}

// A hundredth of a micrometre between the ends of two edges must not become a
// gap of 0.001 mm.
func TestRoundingKeepsJoins(t *testing.T) {
	t.Parallel()
	gap := 1e-8
	at := geom.Pt(10.0005-gap/2, 0)
	next := geom.Pt(10.0005+gap/2, 0)
	edge := func(name string, points ...geom.Point) pattern.Edge {
		return pattern.Edge{Name: name, Run: name, Role: pattern.RoleSeam, Path: geom.Polyline(points...)}
	}
	outline := geom.Polyline(geom.Pt(0.0005-gap, 0), at, geom.Pt(10, 20), geom.Pt(0.0005+gap, 0))
	p := finish.Pattern{Pieces: []finish.Piece{{Piece: pattern.Piece{Edges: []pattern.Edge{
		edge("top", geom.Pt(0.0005+gap, 0), at), edge("side", next, geom.Pt(10, 20), geom.Pt(0.0005-gap, 0)),
	}}, Allowances: []float64{0, 0}, CutLine: outline}}}
	d, err := document.Decode(encoded(t, document.New(p)))
	if err != nil {
		t.Fatal(err)
	}
	q := d.Pattern().Pieces[0]
	if err := q.Outline().Check(); err != nil || q.Outline().Start() != q.Outline().End() {
		t.Errorf("the seam line is broken: %v, %v", err, q.Outline())
	}
	if q.CutLine.Start() != q.CutLine.End() {
		t.Errorf("the cut line is open: %v", q.CutLine)
	}
}

func TestDecodeRefuses(t *testing.T) {
	t.Parallel()
	good := string(encoded(t, document.New(sample(t))))
	for what, c := range map[string]struct{ from, to, want string }{
		"another version":  {`"version":1`, `"version":2,"pieces":7`, "unknown version 2; this program reads version 1"},
		"no version":       {`"version":1,`, ``, "unknown version 0"},
		"another unit":     {`"unit":"mm"`, `"unit":"inch"`, `unit "inch" is not "mm"`},
		"a broken path":    {`"path":[[`, `"path":[[1,2,3],[`, "item 0 of a path has 3 numbers"},
		"a broken number":  {`"path":[[`, `"path":[["a",2],[`, "is not a number"},
		"a flat path":      {`"path":[[`, `"path":[7,[`, "item 0 of a path is not a list"},
		"a path of points": {`"path":[`, `"path":"x","was":[`, "a path is a list of points"},
		"a gap":            {`"path":[[`, `"path":[[-7,-7],[-7,-8],[`, "does not start where"},
		"no edges":         {`"edges":[`, `"edges":[],"were":[`, "no edges"},
		"an open cut line": {`"cut_path":[`, `"cut_path":[[-9,-9],`, "the cut line is not closed"},
		"a third leg":      {`"pressed":`, `"pressed":2,"was":`, "pressed over leg 2"},
		"a bent grain":     {`"grain":[`, `"grain":[[0,0],`, "a grain of 3 points"},
		"two documents":    {`{"version":1`, `{"version":1}{"version":1`, "invalid character"},
	} {
		bad := strings.Replace(good, c.from, c.to, 1)
		if bad == good {
			t.Fatalf("%s: nothing replaced", what)
		}
		if _, err := document.Decode([]byte(bad)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", what, err, c.want)
		}
	}
}

// Whatever Decode accepts can be drawn and is stable: it is encoded to a document
// that decodes to itself.
func FuzzDecode(f *testing.F) {
	p := sample(f)
	whole := encoded(f, document.New(p))
	p.Pieces = p.Pieces[:1]
	f.Add(whole)
	f.Add(encoded(f, document.New(p).Flatten(0.5)))
	f.Add([]byte(`{"version":1,"unit":"mm","pieces":[{"edges":[{"path":[[0,0],[1,0],[1,1,2,2,0,0]]}],
		"cut_path":[[0,0],[1,0],[0,0]]}]}`))
	f.Add([]byte(`{"version":2}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := document.Decode(data)
		if err != nil {
			return
		}
		// Rounding may move points, once.
		first, err := document.New(d.Pattern()).Encode()
		if err != nil {
			return // too large a number to round
		}
		again, err := document.Decode(first)
		if err != nil {
			t.Fatalf("a document does not read back: %v", err)
		}
		if second := encoded(t, document.New(again.Pattern())); !bytes.Equal(first, second) {
			t.Errorf("not stable:\n%s\n%s", first, second)
		}
		again.Flatten(0.05)
	})
}

// The polylines lie within the chord error of the curves, both ways.
func TestFlatten(t *testing.T) {
	t.Parallel()
	const chordError = 0.05
	p := sample(t)
	d := document.New(p).Flatten(chordError)
	for i, piece := range d.Pieces {
		want := p.Pieces[i]
		within(t, piece.Name+", seam line", piece.SeamLine, want.Outline(), chordError)
		within(t, piece.Name+", cut line", piece.CutLine, want.CutLine, chordError)
		var joined []document.Point
		for j, e := range piece.Edges {
			within(t, piece.Name+"/"+e.Name, e.Points, want.Edges[j].Path, chordError)
			if j > 0 && joined[len(joined)-1] != e.Points[0] {
				t.Errorf("%s/%s starts away from the edge before it", piece.Name, e.Name)
			}
			joined = append(joined[:max(len(joined)-1, 0)], e.Points...)
		}
		if !slices.Equal(joined, piece.SeamLine) || joined[0] != joined[len(joined)-1] {
			t.Errorf("the edges of %s do not make up its closed seam line", piece.Name)
		}
		for j, dart := range piece.Darts {
			within(t, dart.Name, dart.LegPoints[0], want.Darts[j].Legs[0], chordError)
			within(t, dart.Name, dart.LegPoints[1], want.Darts[j].Legs[1], chordError)
		}
		for j, l := range piece.Lines {
			within(t, l.Name, l.Points, want.Lines[j].Path, chordError)
		}
		for _, n := range piece.Notches {
			e, _ := want.Edge(n.Edge)
			if at := e.Path.At(n.At); math.Hypot(at.X-n.Point[0], at.Y-n.Point[1]) > 0.002 {
				t.Errorf("notch at %v, %g mm along %s is %v", n.Point, n.At, n.Edge, at)
			}
		}
	}
	if document.CheckFlatten(0.005) == nil || document.CheckFlatten(1.1) == nil ||
		document.CheckFlatten(math.NaN()) == nil ||
		document.CheckFlatten(0.05) != nil {
		t.Error("the limits of a chord error are not kept")
	}
}

// within checks both ways: the points lie on the curve, the curve lies by the
// polyline.
func within(t *testing.T, what string, points []document.Point, path geom.Path, chordError float64) {
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
			if _, d, _ := line.Nearest(q); d > chordError {
				t.Errorf("%s: the curve at %v is %.4f mm from the polyline", what, q, d)
				return
			}
		}
	}
}

// GEOS, by shapely, finds the outlines sound and as large as their curves, and
// each seam line inside its cut line.
func TestOutlinesByGEOS(t *testing.T) {
	t.Parallel()
	const script = `
import json, sys
from shapely.geometry import Polygon
for p in json.load(sys.stdin)["pieces"]:
    cut, seam = Polygon(p["cut_line"]), Polygon(p["seam_line"])
    print(p["name"], cut.is_valid, seam.is_valid, repr(cut.area), repr(seam.area),
          cut.buffer(0.1).contains(seam), not cut.exterior.is_ccw)
`
	const python = "/usr/bin/python3"
	if exec.Command(python, "-c", "import shapely").Run() != nil {
		t.Skip("python with shapely is not installed")
	}
	for _, p := range ordertest.Patterns(t) {
		data := encoded(t, document.New(p).Flatten(0.05))
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
				t.Errorf("%s: areas %g and %g, by the curves %g and %g", name, cut, seam, piece.CutLine.Area(),
					piece.Outline().Area())
			}
		}
	}
}

func TestRound(t *testing.T) {
	t.Parallel()
	if v := document.Round(-0.0001); math.Signbit(v) {
		t.Error("-0")
	}
	if v := document.Round(1234.56789); v != 1234.568 {
		t.Error(v)
	}
}

func TestEmptyAndBroken(t *testing.T) {
	t.Parallel()
	if data := encoded(t, document.New(finish.Pattern{Pieces: []finish.Piece{{}}})); bytes.Contains(data, []byte("null")) {
		t.Errorf("an empty list is null: %s", data)
	}
	p := sample(t)
	p.Pieces[0].CutLine = geom.Polyline(geom.Pt(0, 0), geom.Pt(math.NaN(), 1), geom.Pt(0, 0))
	if _, err := document.New(p).Encode(); err == nil {
		t.Error("NaN is written")
	}
}

func BenchmarkEncode(b *testing.B) {
	p := sample(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := document.New(p).Encode(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecode(b *testing.B) {
	data := encoded(b, document.New(sample(b)))
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		d, err := document.Decode(data)
		if err != nil {
			b.Fatal(err)
		}
		d.Pattern()
	}
}
