package render

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// dxfRead is the answer of read_dxf.py about a file.
type dxfRead struct {
	Version       string
	Errors, Fixes []string
	Nesting       []string
	Layers        []string
	Blocks        map[string][]dxfEntity
	Base          map[string][2]float64
	Model         []dxfEntity
}

type dxfEntity struct {
	Kind, Layer string
	Points      [][2]float64
	Closed      bool
	Text        string
	Height      float64
	Rotation    float64
}

// dxfCase is a file with what is in it.
type dxfCase struct {
	garment
	o Options
}

func (c dxfCase) String() string { return fmt.Sprintf("%s %+v", c.name, c.o) }

// The numbers of the layers that the project's facts about ASTM D6673-10 list,
// written down again here.
const (
	boundary, turnPoint, curvePoint, notch, mirrorLine, grainLine, internal, drillHole, sewLine, annotation = "1", "2",
		"3", "4", "6", "7", "8", "13", "14", "15"
)

// Every piece of every garment as ezdxf reads it: blocks, INSERTs and layers
// one by one, outlines within the chord error, seams as long.
func TestDXFReadBack(t *testing.T) {
	t.Parallel()
	var cases []dxfCase
	for i, g := range garments(t) {
		cases = append(cases, dxfCase{g, Options{}}, dxfCase{g, Options{Folds: FoldsUnfolded}})
		if i < 2 {
			cases = append(cases,
				dxfCase{g, Options{Unit: English}},
				dxfCase{g, Options{Unit: English, Folds: FoldsUnfolded, Flatten: minChordError}},
				dxfCase{g, Options{Flatten: maxChordError}})
		}
	}
	var files []string
	for _, c := range cases {
		_, file := rendered(t, c.Pattern, "dxf", c.o)
		files = append(files, file)
	}
	var read []dxfRead
	script(t, "read_dxf.py", "ezdxf", files, &read)
	if len(read) != len(files) {
		t.Fatalf("%d of %d files read", len(read), len(files))
	}
	var most dxfMost
	for i, r := range read {
		r.check(t, cases[i], &most)
	}
	t.Logf("%d files: outlines within %.3f of their chord error, seams within %.4f mm, areas within %.1f mm²", len(files),
		most.apart, most.seam, most.area)
}

// dxfMost holds the largest differences found.
type dxfMost struct{ apart, seam, area float64 }

// check asserts everything of a file.
func (r dxfRead) check(t *testing.T, c dxfCase, most *dxfMost) {
	t.Helper()
	if r.Version != "AC1009" || len(r.Errors)+len(r.Fixes)+len(r.Nesting) > 0 {
		t.Errorf("%s: version %s, errors %v, fixes %v, nesting %v", c, r.Version, r.Errors, r.Fixes, r.Nesting)
	}
	for _, l := range []string{boundary, turnPoint, curvePoint, notch, mirrorLine, grainLine, internal, drillHole, sewLine,
		annotation} {
		if !slices.Contains(r.Layers, l) {
			t.Errorf("%s: layer %s is not declared", c, l)
		}
	}
	o, err := c.o.dxf().filled()
	if err != nil {
		t.Fatal(err)
	}
	var placed []string
	system := make(map[string]string)
	for _, e := range r.Model {
		switch {
		case e.Kind == "INSERT":
			placed = append(placed, e.Text)
		case e.Kind == "TEXT" && e.Layer == boundary:
			key, value, _ := strings.Cut(e.Text, ": ")
			system[key] = value
		default:
			t.Errorf("%s: %s on layer %s beside the blocks", c, e.Kind, e.Layer)
		}
	}
	units := map[DXFUnit]string{Metric: "METRIC", English: "ENGLISH"}[o.Unit]
	if system["STYLE NAME"] != c.Style || system["UNITS"] != units || system["CREATION DATE"] != c.Label.Date ||
		system["SAMPLE SIZE"] != c.Label.Reference || system["AUTHOR"] == "" {
		t.Errorf("%s: style system text %v", c, system)
	}
	var names []string
	for _, p := range c.Lettered().Pieces {
		name := strings.ToUpper(p.Name)
		names = append(names, name)
		if o.Folds == FoldsUnfolded {
			if p, err = p.Unfold(); err != nil {
				t.Fatal(err)
			}
		}
		entities, ok := r.Blocks[name]
		if !ok {
			t.Errorf("%s: no block %s", c, name)
			continue
		}
		b := newDXFBlock(t, c.String()+" "+name, p, o, entities, most)
		if r.Base[name] != [2]float64{} {
			b.fail("base point %v", r.Base[name])
		}
		b.check(c.Label)
	}
	if !slices.Equal(placed, names) || len(r.Blocks) != len(names) {
		t.Errorf("%s: INSERTs %v and %d blocks, want each of %v", c, placed, len(r.Blocks), names)
	}
	r.checkRow(t, c)
}

// checkRow makes sure that no piece is inserted on another.
func (r dxfRead) checkRow(t *testing.T, c dxfCase) {
	t.Helper()
	var boxes []geom.Box
	for _, e := range r.Model {
		if e.Kind != "INSERT" {
			continue
		}
		for _, x := range r.Blocks[e.Text] {
			if x.Layer == boundary && x.Kind == "POLYLINE" {
				box := lineOf(x.Points, geom.Pt(e.Points[0][0], e.Points[0][1])).Bounds()
				for _, other := range boxes {
					if box.Overlaps(other) {
						t.Errorf("%s: %s lies on another piece", c, e.Text)
					}
				}
				boxes = append(boxes, box)
			}
		}
	}
}

// dxfBlock is a block that was read with the piece that it should hold.
type dxfBlock struct {
	t     *testing.T
	name  string
	piece finish.Piece
	o     DXFOptions
	unit  float64 // mm
	slack float64 // mm, of rounding
	step  geom.Point
	of    map[string][]dxfEntity // by layer and kind
	most  *dxfMost
}

func newDXFBlock(t *testing.T, name string, p finish.Piece, o DXFOptions, entities []dxfEntity,
	most *dxfMost) dxfBlock {
	b := dxfBlock{t: t, name: name, piece: p, o: o, unit: 1, slack: 0.001, of: make(map[string][]dxfEntity), most: most}
	if o.Unit == English {
		b.unit = 25.4
	}
	bounds := p.CutLine.Bounds()
	b.step = geom.Pt(bounds.Min.X, bounds.Max.Y)
	for _, e := range entities {
		b.of[e.Layer+" "+e.Kind] = append(b.of[e.Layer+" "+e.Kind], e)
	}
	return b
}

func (b dxfBlock) fail(format string, args ...any) {
	b.t.Helper()
	b.t.Errorf(b.name+": "+format, args...)
}

// points are an entity's points in mm, in the axes of the piece.
func (b dxfBlock) points(e dxfEntity) []geom.Point {
	all := make([]geom.Point, len(e.Points))
	for i, p := range e.Points {
		all[i] = geom.Pt(p[0]*b.unit, -p[1]*b.unit).Add(b.step)
	}
	return all
}

func (b dxfBlock) line(e dxfEntity) geom.Path {
	points := b.points(e)
	if e.Closed {
		points = append(points, points[0])
	}
	return geom.Polyline(points...)
}

func (b dxfBlock) check(info finish.Label) {
	b.t.Helper()
	p := b.piece
	lines := len(p.Lines) + 2*len(p.Darts)
	crosses := 0
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkBustPoint {
			crosses += 2
		}
	}
	grain, sewn, labels := 0, 0, 0
	if p.Grain.P0 != p.Grain.P3 {
		grain = 1
	}
	var folds []geom.Path // one for each line that edges lie on
	for i, e := range p.Edges {
		same := func(f geom.Path) bool {
			_, _, _, meet := geom.MeetLines(f.Start(), f.StartTangent(), e.Path.Start(), e.Path.StartTangent())
			return !meet && math.Abs(f.StartTangent().Cross(e.Path.Start().Sub(f.Start()))) < 0.01
		}
		if e.Role == pattern.RoleFold && !slices.ContainsFunc(folds, same) {
			folds = append(folds, e.Path)
		}
		if p.Allowances[i] > 0 {
			sewn = 1
		}
	}
	for _, l := range p.Texts {
		labels += len(l.Lines)
	}
	want := map[string]int{
		boundary + " POLYLINE": 1, boundary + " TEXT": 6, notch + " POINT": len(p.Ticks), mirrorLine + " LINE": len(folds),
		grainLine + " LINE": grain, internal + " POLYLINE": lines, internal + " LINE": crosses, drillHole +
			" POINT": len(p.Drills),
		sewLine + " POLYLINE": sewn, annotation + " TEXT": labels,
		turnPoint + " POINT": len(b.of[turnPoint+" POINT"]), curvePoint + " POINT": len(b.of[curvePoint+" POINT"]),
	}
	for key, n := range want {
		if len(b.of[key]) != n {
			b.fail("%d on layer %s, want %d", len(b.of[key]), key, n)
		}
	}
	for key := range b.of {
		if _, ok := want[key]; !ok {
			b.fail("entities on layer %s", key)
		}
	}
	if b.t.Failed() {
		return
	}
	outline := b.outline(b.of[boundary+" POLYLINE"][0], p.CutLine)
	b.marked(b.of[boundary+" POLYLINE"][0])
	b.notches(outline)
	for _, e := range b.of[mirrorLine+" LINE"] {
		b.mirror(e)
	}
	for _, e := range b.of[grainLine+" LINE"] {
		b.near("grain line", e, geom.Path{p.Grain}, b.slack)
	}
	var inner []geom.Path
	for _, l := range p.Lines {
		inner = append(inner, l.Path)
	}
	for _, d := range p.Darts {
		inner = append(inner, d.Legs[0], d.Legs[1])
	}
	for i, e := range b.of[internal+" POLYLINE"] {
		b.near("internal line", e, inner[i], b.o.ChordError)
	}
	for i, e := range b.of[drillHole+" POINT"] {
		if at := b.points(e)[0]; !at.Near(p.Drills[i], b.slack) {
			b.fail("drill hole at %v, want %v", at, p.Drills[i])
		}
	}
	if sewn > 0 {
		b.seams(b.of[sewLine+" POLYLINE"][0])
	}
	b.text(info)
}

// outline checks a closed line both ways, and what it encloses.
func (b dxfBlock) outline(e dxfEntity, want geom.Path) geom.Path {
	b.t.Helper()
	if !e.Closed {
		b.fail("a line on layer %s is open", e.Layer)
	}
	got := b.line(e)
	b.near("line on layer "+e.Layer, e, want, b.o.ChordError)
	off := math.Abs(got.Area() - want.Area())
	b.most.area = max(b.most.area, off)
	if off > b.o.ChordError*want.Length() {
		b.fail("%.1f mm² in the line on layer %s, want %.1f", got.Area(), e.Layer, want.Area())
	}
	return got
}

// near checks that the corners of a line lie on the curve and the curve within
// the chord error of the line.
func (b dxfBlock) near(what string, e dxfEntity, want geom.Path, chordError float64) {
	b.t.Helper()
	for _, q := range b.points(e) {
		if _, d, _ := want.Nearest(q); d > b.slack {
			b.fail("%s: %v is %.4f mm from the curve", what, q, d)
		}
	}
	got := b.line(e)
	for _, s := range want {
		for k := range 24 {
			q := s.At(float64(k) / 24)
			_, d, _ := got.Nearest(q)
			b.most.apart = max(b.most.apart, d/chordError)
			if d > chordError {
				b.fail("%s: the curve at %v is %.4f mm from the line", what, q, d)
			}
		}
	}
}

// marked checks that every vertex of the boundary is a turn or a curve point
// and nothing else is, and that the corners are turn points.
func (b dxfBlock) marked(e dxfEntity) {
	b.t.Helper()
	kinds := make(map[[2]float64]string)
	for _, kind := range []string{turnPoint, curvePoint} {
		for _, p := range b.of[kind+" POINT"] {
			if kinds[p.Points[0]] != "" {
				b.fail("two points at %v", p.Points[0])
			}
			kinds[p.Points[0]] = kind
		}
	}
	points := b.points(e)
	for i, p := range e.Points {
		kind := kinds[p]
		before, after := points[i].Sub(points[(i+len(points)-1)%len(points)]), points[(i+1)%len(points)].Sub(points[i])
		switch bend := math.Abs(geom.AngleBetween(before, after)); {
		case kind == "":
			b.fail("vertex %v is neither turn nor curve point", p)
		case kind == curvePoint && bend > 0.6 && b.o.ChordError <= DefaultChordError:
			b.fail("vertex %v bends by %.2f rad but is a curve point", p, bend)
		}
	}
	if len(kinds) != len(e.Points) {
		b.fail("%d turn and curve points for %d vertices", len(kinds), len(e.Points))
	}
	// Where edges with allowances meet at an angle there is a corner of the cut line.
	if turns := len(b.of[turnPoint+" POINT"]); turns < 4 {
		b.fail("%d turn points", turns)
	}
}

// notches checks that each lies on the boundary and by the end of its stroke.
func (b dxfBlock) notches(outline geom.Path) {
	b.t.Helper()
	for i, e := range b.of[notch+" POINT"] {
		at := b.points(e)[0]
		stroke := b.piece.Ticks[i].Stroke
		_, d, _ := outline.Nearest(at)
		end := min(at.Dist(stroke.P0), at.Dist(stroke.P3))
		if d > b.slack || end > b.o.ChordError+b.slack {
			b.fail("notch %d at %v: %.4f mm from the boundary, %.4f mm from its stroke", i, at, d, end)
		}
	}
}

// mirror checks that a mirror line is an edge of the boundary, along a fold.
func (b dxfBlock) mirror(e dxfEntity) {
	b.t.Helper()
	edge := false
	points := b.of[boundary+" POLYLINE"][0].Points
	for i, p := range points {
		q := points[(i+1)%len(points)]
		edge = edge || p == e.Points[0] && q == e.Points[1] || p == e.Points[1] && q == e.Points[0]
	}
	if !edge {
		b.fail("the mirror line %v is no edge of the boundary", e.Points)
	}
	for _, f := range b.piece.Edges {
		if f.Role == pattern.RoleFold {
			for _, s := range f.Path {
				if _, d, _ := b.line(e).Nearest(s.At(0.5)); d > b.slack {
					b.fail("the mirror line is %.3f mm from the fold", d)
				}
			}
		}
	}
}

// seams checks the sew line, and on it the length of every edge.
func (b dxfBlock) seams(e dxfEntity) {
	b.t.Helper()
	got := b.outline(e, b.piece.Outline())
	for _, f := range b.piece.Edges {
		_, d0, from := got.Nearest(f.Path.Start())
		_, d1, to := got.Nearest(f.Path.End())
		length := to - from
		if length < 0 {
			length += got.Length()
		}
		off := math.Abs(length - f.Path.Length())
		if b.o.ChordError <= DefaultChordError {
			b.most.seam = max(b.most.seam, off)
		}
		if d0 > b.slack || d1 > b.slack || off > 2*b.o.ChordError {
			b.fail("%s measures %.3f mm, want %.3f", f.Name, length, f.Path.Length())
		}
	}
}

// text checks the piece's system text and annotation.
func (b dxfBlock) text(info finish.Label) {
	b.t.Helper()
	system := make(map[string]string)
	for _, e := range b.of[boundary+" TEXT"] {
		key, value, _ := strings.Cut(e.Text, ": ")
		system[key] = value
	}
	if system["PIECE NAME"] != strings.ToUpper(b.piece.Name) || system["QUANTITY"] != fmt.Sprint(b.piece.Cut.Count) ||
		system["SIZE"] != info.Reference || system["CATEGORY"] != b.piece.Name ||
		!strings.HasPrefix(system["ANNOTATION"], b.piece.Title) {
		b.fail("system text %v", system)
	}
	cloth := b.piece.Cloth
	if cloth == "" {
		cloth = "SELF"
	}
	if says := fmt.Sprintf("interfacing cut %d", b.piece.Interfacing); system["MATERIAL"] != cloth ||
		strings.Contains(system["ANNOTATION"], says) != (b.piece.Interfacing > 0) {
		b.fail("from %q, %q", system["MATERIAL"], system["ANNOTATION"])
	}
	if b.o.Folds == FoldsUnfolded && strings.Contains(strings.ToLower(system["ANNOTATION"]), "fold") {
		b.fail("annotation %q of an opened piece", system["ANNOTATION"])
	}
	i := 0
	for _, l := range b.piece.Texts {
		for j, line := range l.Lines {
			e := b.of[annotation+" TEXT"][i]
			i++
			if e.Text != ascii(line) || !b.points(e)[0].Near(l.Baseline(j), b.slack) ||
				math.Abs(e.Rotation+l.Angle*180/math.Pi) > 0.001 {
				b.fail("annotation %+v for %q at %v", e, line, l.Baseline(j))
			}
			if h := e.Height * b.unit / l.Size; h < 0.6 || h > 0.8 {
				b.fail("letters %.2f of an em high", h)
			}
		}
	}
}

// Words stay words in a file whose lines are codes.
func TestDXFHostile(t *testing.T) {
	t.Parallel()
	p, plain := hostile(t), torso(t, nil)
	data, file := rendered(t, p, "dxf", Options{})
	_, plainFile := rendered(t, plain, "dxf", Options{})
	for i, c := range data {
		if c > '~' || c < ' ' && c != '\r' && c != '\n' {
			t.Fatalf("byte %#x at %d", c, i)
		}
	}
	var read []dxfRead
	script(t, "read_dxf.py", "ezdxf", []string{file, plainFile}, &read)
	got, want := read[0], read[1]
	if len(got.Errors)+len(got.Fixes)+len(got.Nesting) > 0 {
		t.Errorf("errors %v, fixes %v, nesting %v", got.Errors, got.Fixes, got.Nesting)
	}
	if len(got.Blocks) != len(want.Blocks) || len(got.Model) != len(want.Model) {
		t.Errorf("%d blocks and %d entities beside them, want %d and %d", len(got.Blocks), len(got.Model), len(want.Blocks),
			len(want.Model))
	}
	for name, entities := range got.Blocks {
		if name != "SLEEVE" && !strings.HasPrefix(name, "___SCRIPT_ALERT") {
			t.Errorf("block %s", name)
		}
		for _, e := range entities {
			if len(e.Text) > maxDXFText || strings.ContainsAny(e.Text, "\r\n\\") {
				t.Errorf("text %q", e.Text)
			}
		}
	}
}

func TestASCII(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ in, want string }{
		{"", ""},
		{"Front, cut 1", "Front, cut 1"},
		{"Größe Łódź Æther", "Grosse Lodz AEther"},
		{"Zoe\u0308", "Zoe"},
		{"Заказ Ёж", "Zakaz Iozh"},
		{"Παραγγελία", "Paraggelia"},
		{"½ × 2 – “a”", "1/2  x 2 - \"a\""},
		{"a\r\nb\tc\x00\x7f", "a??b?c??"},
		{"x\u2009y\u00a0z ", "x y z"},
		{`\U+000A\P`, "/U+000A/P"},
		{"%%d 50% ^J", "% % d 50% ^ J"},
		{"robe \U0001F457\ufffd", "robe ??"},
		{"broken \xff", "broken ?"},
	} {
		if got := ascii(c.in); got != c.want {
			t.Errorf("ascii(%q) = %q, want %q", c.in, got, c.want)
		}
	}
}

func TestDXFNames(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("x", 40)
	got := dxfNames([]string{"front", "Front", "a b/c", "", "рукав", long, long, "__"})
	want := []string{"FRONT", "FRONT_2", "A_B_C", "PIECE", "RUKAV", strings.Repeat("X", 31), strings.Repeat("X", 29) +
		"_2", "PIECE_2"}
	if !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

func FuzzASCII(f *testing.F) {
	for _, s := range []string{"A-1", "Größe", "\r\n0\r\nEOF", "%%%%", `\U+000A`, strings.Repeat("漢", 200), "^ "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := ascii(s)
		if len(got) > maxDXFText {
			t.Fatalf("%q: %d bytes", s, len(got))
		}
		for i := range len(got) {
			if got[i] < ' ' || got[i] > '~' {
				t.Fatalf("%q: byte %#x", s, got[i])
			}
		}
		if strings.Contains(got, "%%") || strings.Contains(got, `\`) {
			t.Fatalf("%q gives a code: %q", s, got)
		}
		names := dxfNames([]string{s, s})
		if names[0] == names[1] || names[0] == "" || len(names[1]) > maxDXFName {
			t.Fatalf("%q: names %q", s, names)
		}
	})
}

// Turn points are ends of straight lines and corners; a curve carried on by
// another smoothly has curve points only.
func TestDXFTurnPoints(t *testing.T) {
	t.Parallel()
	const k = 0.5522847498
	// to the right, turning down
	arc := geom.Cubic(geom.Pt(0, 0), geom.Pt(100*k, 0), geom.Pt(100, 100-100*k), geom.Pt(100, 100))
	next := geom.Cubic(geom.Pt(100, 100), geom.Pt(100, 100+100*k), geom.Pt(100*k, 200), geom.Pt(0, 200))
	d := dxfWriter{unit: 1, decimals: 3}
	var turns []geom.Point
	for _, v := range d.vertices(geom.Path{arc, next, geom.Line(geom.Pt(0, 200), geom.Pt(0, 0))}, 0.1) {
		if v.turn {
			turns = append(turns, v.at)
		}
	}
	if want := []geom.Point{{}, {Y: 200}}; !slices.Equal(turns, want) {
		t.Errorf("turn points %v, want %v", turns, want)
	}
	// Two points that are written the same are one.
	vs := d.vertices(geom.Polyline(geom.Pt(0, 0), geom.Pt(0.0001, 0), geom.Pt(10, 0), geom.Pt(10, 10), geom.Pt(0, 0.0002),
		geom.Pt(0, 0)), 0.1)
	if len(vs) != 3 {
		t.Errorf("%d vertices: %v", len(vs), vs)
	}
}

// The hip-length torso stays under 600 kB, even at the finest.
func TestDXFSize(t *testing.T) {
	t.Parallel()
	p := torso(t, func(o *drafting.Order) { o.Choices["length"] = block.Value{Word: "hip"} })
	for _, o := range []Options{{}, {Folds: FoldsUnfolded},
		{Unit: English, Folds: FoldsUnfolded, Flatten: minChordError}} {
		data, _ := rendered(t, p, "dxf", o)
		t.Logf("%+v: %d bytes", o, len(data))
		if len(data) > 600_000 {
			t.Errorf("%+v: %d bytes", o, len(data))
		}
	}
}

// Lengths have a fixed number of decimals and no minus nought.
func TestDXFNumbers(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		unit     DXFUnit
		decimals int
	}{{Metric, 3}, {English, 5}} {
		data, _ := rendered(t, torso(t, nil), "dxf", Options{Unit: c.unit})
		lines := strings.Split(string(data), "\r\n")
		for i := 0; i+1 < len(lines); i += 2 {
			switch lines[i] {
			case "10", "20", "11", "21":
				_, frac, _ := strings.Cut(lines[i+1], ".")
				if len(frac) != c.decimals || strings.HasPrefix(lines[i+1], "-0."+strings.Repeat("0", c.decimals)) {
					t.Fatalf("%s: %q", c.unit, lines[i+1])
				}
			}
		}
	}
	if !bytes.Equal(appendFixed(nil, -0.0004, 3), []byte("0.000")) ||
		!bytes.Equal(appendFixed(nil, -0.0006, 3), []byte("-0.001")) {
		t.Error("minus nought")
	}
}
