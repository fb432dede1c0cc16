package finish

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// unfolded finishes a piece and opens it out.
func unfolded(t *testing.T, p pattern.Piece) (folded, opened Piece) {
	t.Helper()
	done, err := letteredAs(pattern.Pattern{Pieces: []pattern.Piece{p}}, said{label: Label{Reference: "A-1"}})
	if err != nil {
		t.Fatal(err)
	}
	opened, err = done.Pieces[0].Unfold()
	if err != nil {
		t.Fatal(err)
	}
	return done.Pieces[0], opened
}

// An opened piece has twice the area inside either line, is one outline
// walked clockwise, and is its own mirror image.
func TestUnfold(t *testing.T) {
	t.Parallel()
	for _, p := range []pattern.Piece{skirtFront(), bodiceFront()} {
		half, whole := unfolded(t, p)
		for name, pair := range map[string][2]geom.Path{
			"cut line": {half.CutLine, whole.CutLine}, "seam line": {half.Outline(), whole.Outline()},
		} {
			a, b := pair[0], pair[1]
			if got, want := b.Area(), 2*a.Area(); math.Abs(got-want) > 0.05*a.Length()*pattern.FoldTol {
				t.Errorf("%s %s: %.3f mm², twice the half is %.3f", p.Title, name, got, want)
			}
			if err := b.Check(); err != nil || !b.Closed() || !b.Simple() {
				t.Errorf("%s %s: not one closed line: %v", p.Title, name, err)
			}
			mirror := b.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1))) // the fold lies at x = 0
			for _, q := range mirror.Flatten(0.1) {
				if _, d, _ := b.Nearest(q); d > 1e-6 {
					t.Fatalf("%s %s: not its own mirror image at %v", p.Title, name, q)
				}
			}
		}
		if whole.Cut.OnFold || len(whole.Brackets) > 0 || len(whole.Arrows) != 2 {
			t.Errorf("%s: still on the fold: %+v, %d brackets, %d arrows", p.Title, whole.Cut, len(whole.Brackets),
				len(whole.Arrows))
		}
		for _, l := range whole.Texts {
			if s := strings.ToLower(strings.Join(l.Lines, " ")); strings.Contains(s, "fold") {
				t.Errorf("%s: says %q", p.Title, s)
			}
		}
		if len(whole.Ticks) != 2*len(half.Ticks) || len(whole.Notches) != 2*len(half.Notches) ||
			len(whole.Drills) != 2*len(half.Drills) || len(whole.Darts) != 2*len(half.Darts) {
			t.Errorf("%s: %d ticks, %d notches, %d drills, %d darts", p.Title, len(whole.Ticks), len(whole.Notches),
				len(whole.Drills), len(whole.Darts))
		}
		if len(whole.Lines) != len(half.Lines) { // all of them meet the fold
			t.Errorf("%s: %d lines of %d", p.Title, len(whole.Lines), len(half.Lines))
		}
		checkUnfolded(t, whole)
	}
}

// checkUnfolded asserts what holds for every piece between its parts.
func checkUnfolded(t *testing.T, p Piece) {
	t.Helper()
	if len(p.Edges) != len(p.Allowances) {
		t.Errorf("%s: %d edges, %d allowances", p.Title, len(p.Edges), len(p.Allowances))
	}
	for _, tick := range p.Ticks {
		n := p.Notches[tick.Notch]
		e, ok := p.Edge(n.Edge)
		if !ok {
			t.Fatalf("%s: a notch on %s, which is not there", p.Title, n.Edge)
		}
		if at := e.Path.At(n.At); !at.Near(tick.Stroke.P0, doubleNotch+1e-6) {
			t.Errorf("%s: notch at %v drawn from %v", p.Title, at, tick.Stroke.P0)
		}
	}
	for _, d := range p.Darts {
		if d.Mouth == "" {
			continue
		}
		e, ok := p.Edge(d.Mouth)
		if !ok || !d.Legs[0].Start().Near(e.Path.Start(), legTol) || !d.Legs[1].Start().Near(e.Path.End(), legTol) {
			t.Errorf("%s: %s does not open at %s", p.Title, d.Name, d.Mouth)
		}
	}
}

// A quarter on two folds is opened twice.
func TestUnfoldQuarter(t *testing.T) {
	t.Parallel()
	quarter := pattern.Piece{Name: "cloth", Title: "Cloth", Cut: pattern.Cut{Count: 1, OnFold: true},
		Grain: ln(30, 60, 30, 150), Edges: []pattern.Edge{
			edge("centre", pattern.RoleFold, ln(0, 200, 0, 0)),
			edge("middle", pattern.RoleFold, ln(0, 0, 300, 0)),
			edge("end", pattern.RoleHem, ln(300, 0, 300, 200)),
			edge("side", pattern.RoleSeam, ln(300, 200, 0, 200)),
		}}
	half, whole := unfolded(t, quarter)
	if got := whole.Outline().Area(); math.Abs(got-4*300*200) > 1e-6 {
		t.Errorf("seam line of %.3f mm²", got)
	}
	if got, want := whole.CutLine.Area(), 4*half.CutLine.Area(); math.Abs(got-want) > 1e-6 || len(whole.CutLine) != 4 {
		t.Errorf("cut line of %.3f mm² in %d segments, want %.3f in 4", got, len(whole.CutLine), want)
	}
	checkUnfolded(t, whole)
}

// What no cloth can be folded to is said.
func TestUnfoldRefuses(t *testing.T) {
	t.Parallel()
	p := pattern.Piece{Name: "sector", Title: "Sector", Cut: pattern.Cut{Count: 1, OnFold: true},
		Grain: ln(30, 10, 90, 10), Edges: []pattern.Edge{
			edge("a", pattern.RoleFold, ln(0, 0, 200, 0)),
			edge("b", pattern.RoleSeam, ln(200, 0, 100, 120)),
			edge("c", pattern.RoleFold, ln(100, 120, 0, 0)),
		}}
	if _, err := (Piece{Piece: p, Allowances: make([]float64, 3), CutLine: p.Outline()}).Unfold(); err == nil ||
		!strings.Contains(err.Error(), "sector") {
		t.Errorf("error %v", err)
	}
	plain := Piece{Piece: bodiceFront()}
	plain.Edges = slices.DeleteFunc(plain.Edges, func(e pattern.Edge) bool { return e.Role == pattern.RoleFold })
	if got, err := plain.Unfold(); err != nil || len(got.Edges) != len(plain.Edges) {
		t.Errorf("a piece without a fold: %v", err)
	}
}

// A caption is no smaller than asked for and lies inside the seam line and crosses no
// line there, or stands under a piece that has no room for it.
func TestCaption(t *testing.T) {
	t.Parallel()
	for _, p := range []pattern.Piece{skirtFront(), bodiceFront()} {
		half, whole := unfolded(t, p)
		for _, q := range []Piece{half, whole} {
			for _, size := range []float64{2, 8, 16, 30} {
				caption := NewCaption(&q, 3)
				labels := caption.Set(size)
				if len(labels) == 0 || labels[0].Size < size || !strings.HasPrefix(strings.Join(labels[0].Lines, " "),
					"3 "+p.Title[:5]) {
					t.Errorf("%s at %g mm: %+v", p.Title, size, labels)
				}
				for _, l := range labels {
					for _, c := range l.Corners() {
						if under := l.At.Y > q.Bounds().Max.Y; !under && !q.Outline().Contains(c) {
							t.Errorf("%s at %g mm: %q reaches out at %v", p.Title, size, l.Lines, c)
						}
					}
					box := geom.BoxOf(l.At, l.At.Add(geom.Pt(l.Width(), l.Height())))
					for _, line := range slices.Concat(linePaths(q.Lines), q.Lengthen) {
						if l.Angle == 0 && line.Bounds().Overlaps(box) && slices.ContainsFunc(line, func(s geom.Segment) bool {
							return len(s.AppendClipped(nil, box)) > 0
						}) {
							t.Errorf("%s at %g mm: %q crosses a line", p.Title, size, l.Lines)
						}
					}
				}
			}
			caption := NewCaption(&q, 3)
			if l := caption.Set(400); len(l) != 1 || l[0].At.Y < q.Bounds().Max.Y {
				t.Errorf("%s at 400 mm: %+v", p.Title, l)
			}
		}
	}
}

// linePaths returns the paths of lines.
func linePaths(lines []pattern.Line) []geom.Path {
	paths := make([]geom.Path, len(lines))
	for i, l := range lines {
		paths[i] = l.Path
	}
	return paths
}

// On real bodies every piece opens out: twice the area, one outline that does
// not cross itself, and room for a caption.
func TestUnfoldRealBodies(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	pieces, folded := 0, 0
	for i := 0; i < len(people); i += len(people) / 40 {
		for _, v := range blockVariants {
			p, ok := drafted(t, v.block, people[i], "regular", choices(v.choices))
			if !ok {
				continue
			}
			done, err := letteredAs(p, said{label: Label{Reference: "A-1"}})
			if err != nil {
				continue // the block's own matter
			}
			for _, half := range done.Pieces {
				whole, err := half.Unfold()
				if err != nil {
					t.Fatalf("body %d, %s %s: %v", i, v.block, v.choices, err)
				}
				pieces++
				times := 1.0
				if half.Cut.OnFold {
					folded++
					times = 2
				}
				got, want := whole.CutLine.Area(), times*half.CutLine.Area()
				if math.Abs(got-want) > 0.05*half.CutLine.Length()*pattern.FoldTol || !whole.CutLine.Closed() ||
					!whole.CutLine.Simple() || !whole.Outline().Simple() {
					t.Errorf("body %d, %s %s, %s: %.3f mm², want %.3f", i, v.block, v.choices, half.Name, got, want)
				}
				checkUnfolded(t, whole)
				if caption := NewCaption(&whole, 1); len(caption.Set(20)) == 0 {
					t.Errorf("body %d, %s %s, %s: no room for a caption", i, v.block, v.choices, half.Name)
				}
			}
		}
	}
	t.Logf("%d pieces, %d of them on the fold", pieces, folded)
	if folded < 100 {
		t.Errorf("only %d pieces on the fold", folded)
	}
}
