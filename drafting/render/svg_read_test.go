package render

import (
	"encoding/xml"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// svgRead is the answer of read_svg.py about a file.
type svgRead struct {
	Width, Height float64
	Paths         map[string]struct {
		Points [][2]float64
		Length float64
	}
}

// svgElement is an element with what it holds, read by encoding/xml.
type svgElement struct {
	XMLName  xml.Name
	Attrs    []xml.Attr   `xml:",any,attr"`
	Text     string       `xml:",chardata"`
	Children []svgElement `xml:",any"`
}

func (e *svgElement) attr(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// each calls f with the element and all inside it.
func (e *svgElement) each(f func(*svgElement)) {
	f(e)
	for i := range e.Children {
		e.Children[i].each(f)
	}
}

func parseSVG(t testing.TB, data []byte) *svgElement {
	t.Helper()
	var root svgElement
	if err := xml.Unmarshal(data, &root); err != nil {
		t.Fatalf("not XML: %v", err)
	}
	return &root
}

// ids are those of the document, none of them twice.
func (e *svgElement) ids(t testing.TB) []string {
	t.Helper()
	var ids []string
	e.each(func(x *svgElement) {
		if id := x.attr("id"); id != "" {
			ids = append(ids, id)
		}
	})
	slices.Sort(ids)
	if n := len(slices.Compact(slices.Clone(ids))); n != len(ids) {
		t.Errorf("%d of %d ids are used again", len(ids)-n, len(ids))
	}
	return ids
}

// Every line of every garment as svgelements reads it: within 0.1 mm of the
// pattern, at the size said in mm, seams as long.
func TestSVGReadBack(t *testing.T) {
	t.Parallel()
	type file struct {
		garment
		o Options
	}
	var files []file
	for i, g := range someGarments(t, 0) {
		for k, o := range svgVariants {
			if i < 2 || k == 1 { // the lines of the variants are the same, and letters are read sooner than outlines
				files = append(files, file{g, o})
			}
		}
	}
	var names []string
	for _, f := range files {
		_, name := rendered(t, f.Pattern, "svg", f.o)
		names = append(names, name)
	}
	var read []svgRead
	script(t, "read_svg.py", "svgelements", names, &read)
	if len(read) != len(files) {
		t.Fatalf("%d of %d files read", len(read), len(files))
	}
	var most, longest float64
	for i, r := range read {
		r.check(t, fmt.Sprintf("%s %+v", files[i].name, files[i].o), files[i].Pattern, &most, &longest)
	}
	t.Logf("%d files: points within %.4f mm, seams within %.4f mm", len(files), most, longest)
}

func (r svgRead) check(t *testing.T, name string, p finish.Pattern, most, longest *float64) {
	t.Helper()
	found := 0
	for _, piece := range p.Pieces {
		id := "piece-" + piece.Name
		cut, ok := r.Paths[id+"-cut-line-path"]
		if !ok {
			t.Fatalf("%s: %s has no cut line", name, piece.Name)
		}
		// A piece as drafted lies at its place on the sheet after one step, the same for all of it.
		line := lineOf(cut.Points, geom.Point{})
		step := piece.CutLine.Bounds().Min.Sub(line.Bounds().Min)
		same := func(id string, want geom.Path) {
			t.Helper()
			got, ok := r.Paths[id]
			if !ok {
				t.Errorf("%s: no path %s", name, id)
				return
			}
			found++
			d := apart(lineOf(got.Points, step), want)
			long := math.Abs(got.Length - want.Length())
			*most, *longest = max(*most, d), max(*longest, long)
			if d > 0.1 || long > 0.05 {
				t.Errorf("%s: %s is %.3f mm off and %.3f mm longer", name, id, d, got.Length-want.Length())
			}
		}
		same(id+"-cut-line-path", piece.CutLine)
		if a, b := line.Area(), piece.CutLine.Area(); math.Abs(a-b) > 0.02*piece.CutLine.Length() {
			t.Errorf("%s: %s has %.1f mm², want %.1f", name, piece.Name, a, b)
		}
		for _, e := range piece.Edges {
			same(id+"-edge-"+e.Name, e.Path)
		}
		for _, d := range piece.Darts {
			same(id+"-dart-"+strings.ReplaceAll(d.Name, " ", "_")+"-leg-1", d.Legs[0])
			same(id+"-dart-"+strings.ReplaceAll(d.Name, " ", "_")+"-leg-2", d.Legs[1])
		}
		named := make(map[string]int)
		numbered := func(id string) string { // the second of a name is -2
			if named[id]++; named[id] > 1 {
				return id + "-" + strconv.Itoa(named[id])
			}
			return id
		}
		for _, l := range piece.Lines {
			same(numbered(id+"-line-"+l.Name), l.Path)
		}
		for i, b := range piece.Brackets {
			same(id+"-fold-"+strconv.Itoa(i+1), b)
		}
		for i, l := range piece.Lengthen {
			same(id+"-lengthen-"+strconv.Itoa(i+1), l)
		}
		same(id+"-grain-line", geom.Path{piece.Grain})
		for _, k := range piece.Ticks {
			same(numbered(id+"-notch-"+piece.Notches[k.Notch].Edge), geom.Path{k.Stroke})
		}
	}
	for id := range r.Paths {
		if !strings.HasPrefix(id, "piece-") {
			t.Errorf("%s: a path %s", name, id)
		} else {
			found--
		}
	}
	if found != 0 {
		t.Errorf("%s: %d paths are not of the pattern", name, -found)
	}
}
