package render

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/geom"
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
		cases = append(cases, dxfCase{g, Options{Folds: FoldsUnfolded}})
		if i%2 == 0 || whole() {
			cases = append(cases, dxfCase{g, Options{}})
		}
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
