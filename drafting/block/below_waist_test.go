package block

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/fault"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// What holds for every block below the waist is tested here for all of them.

type belowWaist struct {
	spec     func() Spec
	variants []map[string]Value // each choice at both ends
	moves    float64            // how far a millimetre of a measurement may move a point, mm
}

var belowWaistBlocks = []belowWaist{
	{skirtSpec, []map[string]Value{
		words(), words("length", "mini"), words("length", "midi", "centre_back", "fold"), words("length", "ankle",
			"centre_front", "seam"),
		{"length": {Number: 420}, "waist": {Number: 20}}, {"length": {Number: 1300}, "waist": {Number: 40}},
	}, leastSewn},
	{circleSkirtSpec, []map[string]Value{
		words(), words("part", "full", "length", "mini"), words("part", "three_quarter", "centre_back", "fold"),
		words("part", "quarter", "length", "ankle", "centre_front", "seam"), {"length": {Number: 1300}},
		// A circle opened to pass the hip swings its hem, which is up to ten
		// times as far from the waist as the hip.
	}, 6},
	{trousersSpec, []map[string]Value{
		words(), words("length", "ankle", "hem", "tapered"), words("hem", "wide", "front", "pleats"), words("length", "knee"),
		{"length": {Number: 60}}, {"length": {Number: 300}, "hem": {Number: 700}, "waist": {Number: 20}},
		{"hem": {Number: 240}}, {"hem": {Number: 700}}, {"waist": {Number: 40}, "hem": {Word: "tapered"}},
	}, leastSewn},
	{leggingsSpec, []map[string]Value{
		words(), words("length", "calf", "gusset", "yes"), words("length", "knee", "tension", "light"),
		words("length", "short", "gusset", "yes"), {"stretch": {Number: 20}, "lengthwise_stretch": {Number: 5}},
		{"stretch": {Number: 150}, "lengthwise_stretch": {Number: 150}, "tension": {Word: "compressive"}},
		{"length": {Number: 100}}, {"length": {Number: 600}, "waist": {Number: 20}},
	}, leastSewn},
}

// wornBy are the survey's women and men: skirts and trousers are drafted to
// the measurements of either.
func wornBy(t *testing.T) map[string][]body.Measures {
	return map[string][]body.Measures{"women": surveytest.Women(t), "men": surveytest.Men(t)}
}

// Every real body is drafted or refused with a reason, under 0.5 % refused;
// so is every size of the grid of EN 13402-3.
func TestBelowWaistOnPeople(t *testing.T) {
	t.Parallel()
	groups := wornBy(t)
	groups["grid"] = legGrid()
	for _, block := range belowWaistBlocks {
		for group, people := range groups {
			t.Run(block.spec().Name+" "+group, func(t *testing.T) {
				t.Parallel()
				for i, choices := range block.variants {
					nth := everyNth(19)
					if group == "grid" {
						nth = 1
					} else if i == 0 {
						nth = everyNth(3)
					}
					y := draftAll(t, block.spec(), people, nth, choices)
					if total := y.drafted + y.refused; y.refused*200 > total {
						t.Errorf("%v: %d of %d refused: %v", choices, y.refused, total, y.reasons)
					}
				}
			})
		}
	}
}

// legGrid is the size grid with the legs that a body of that height has
// (survey: crotch height 0.48 of the height).
func legGrid() []body.Measures {
	people := sizeGrid()
	for _, m := range people {
		m[body.InsideLeg] = 0.48 * m[body.Height]
	}
	return people
}

// Bodies that nobody has are refused with a reason or drafted right; never a
// malformed piece, never a failed check.
func TestBelowWaistOnAbsurdBodies(t *testing.T) {
	t.Parallel()
	for _, block := range belowWaistBlocks {
		t.Run(block.spec().Name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(3, 4))
			y := newTally()
			for range 6000 / everyNth(3) {
				m := body.Measures{}
				for _, n := range []body.Name{
					body.Height, body.WaistGirth, body.HipGirth, body.HighHipGirth, body.WaistToHip, body.WaistToKnee,
					body.WaistToFloor,
					body.BodyRise, body.InsideLeg, body.OutsideLeg, body.TotalCrotchLength, body.ThighGirth, body.KneeGirth,
					body.CalfGirth, body.AnkleGirth,
				} {
					info, _ := body.Lookup(n)
					optional := n != body.WaistGirth && n != body.HipGirth && n != body.WaistToHip && n != body.InsideLeg &&
						n != body.Height
					if optional && rng.IntN(3) > 0 {
						continue
					}
					m[n] = info.Min + (0.15+0.55*rng.Float64())*(info.Max-info.Min)
				}
				choices := block.variants[rng.IntN(len(block.variants))]
				requires, uses := block.spec().Needs(choices)
				b, faults := body.NewIn(body.Millimetre, m, requires, uses)
				if faults != nil {
					continue
				}
				p, err := Draft(t.Context(), block.spec().Name, Request{Body: b, Fit: torsoFits()[rng.IntN(3)].Name,
					Choices: choices})
				y.add(t, fmt.Sprint(m, choices), p, err)
			}
			y.report(t)
			if y.drafted < 100 {
				t.Errorf("only %d drafted", y.drafted)
			}
		})
	}
}

// What comes out keeps every rule that holds for a finished pattern, and runs
// smooth where it is sewn: the waist over darts, side and centre, the hem over
// side and inseam, the crotch over the inseam. Within 5 degrees (common
// practice; a cutter trues by eye).
func TestBelowWaistRunsSmooth(t *testing.T) {
	t.Parallel()
	for _, block := range belowWaistBlocks {
		t.Run(block.spec().Name, func(t *testing.T) {
			t.Parallel()
			spec, worst := block.spec(), map[string]float64{}
			for group, people := range wornBy(t) {
				for i := 0; i < len(people); i += everyNth(23) {
					fit, choices := spec.Fits[i%3].Name, block.variants[i%len(block.variants)]
					requires, uses := spec.Needs(choices)
					b, _ := body.NewIn(body.Millimetre, people[i], requires, uses)
					p, err := Draft(t.Context(), spec.Name, Request{Body: b, Fit: fit, Choices: choices})
					if err != nil {
						continue
					}
					for _, broken := range p.Validate() {
						t.Errorf("%s row %d %s %v: %v", group, i, fit, choices, broken)
					}
					for name, kink := range kinks(p) {
						if kink > worst[name] {
							worst[name] = kink
						}
						if kink > 5 {
							t.Errorf("%s row %d %s %v: %s kinks by %.1f degrees", group, i, fit, choices, name, kink)
						}
					}
				}
			}
			t.Log(worst)
		})
	}
}

// kinks are the angles, less straight on, that runs across a seam, a dart, a
// fold or a centre seam make when it is sewn.
func kinks(p pattern.Pattern) map[string]float64 {
	all := map[string]float64{}
	note := func(name string, angles float64) { all[name] = math.Max(all[name], math.Abs(180-angles/degree)) }
	inner := func(p pattern.Piece, i int) float64 { // angle at the end of edge i
		in, out := p.Edges[i].Path.EndTangent().Neg(), p.Edges[(i+1)%len(p.Edges)].Path.StartTangent()
		return math.Abs(geom.AngleBetween(in, out))
	}
	// corner is the angle between a run and the seam beside it.
	corner := func(q pattern.Piece, a, b string) (float64, bool) {
		n := len(q.Edges)
		for i, e := range q.Edges {
			next := q.Edges[(i+1)%n]
			if e.Run == a && next.Run == b || e.Run == b && next.Run == a {
				return inner(q, i), true
			}
		}
		return 0, false
	}
	if leg, ok := p.Piece(pieceLeg); ok {
		for _, across := range [...][2]string{{edgeHem, edgeHem}, {edgeCrotchBack, edgeCrotchFront}} {
			a, okA := corner(leg, across[0], edgeInseamBack)
			b, okB := corner(leg, across[1], edgeInseamFront)
			if okA && okB { // a gusset parts crotch and inseams
				note(across[0]+" over the inseam", a+b)
			}
		}
		for _, centre := range [...]string{edgeCrotchBack, edgeCrotchFront} {
			a, _ := corner(leg, edgeWaist, centre)
			note("waist over "+centre, 2*a)
		}
		return all
	}
	for _, across := range []string{edgeWaist, edgeHem, "crotch"} {
		for _, seamRun := range []string{edgeSide, "inseam"} {
			a, okA := corner(p.Pieces[back], across, seamRun)
			b, okB := corner(p.Pieces[front], across, seamRun)
			if okA && okB {
				note(across+" over "+seamRun, a+b)
			}
		}
		for _, centre := range []string{edgeBackCentre, edgeCentre, "crotch"} {
			for _, q := range p.Pieces {
				if a, ok := corner(q, across, centre); ok && across != "crotch" {
					note(across+" over "+centre, 2*a)
				}
			}
		}
	}
	for _, q := range p.Pieces {
		for i, e := range q.Edges {
			if e.Role != pattern.RoleDartMouth {
				continue
			}
			for _, d := range q.Darts {
				if d.Mouth == e.Name {
					before := geom.AngleBetween(q.Edges[i-1].Path.EndTangent().Neg(), d.Legs[0].StartTangent())
					after := geom.AngleBetween(d.Legs[1].StartTangent(), q.Edges[(i+1)%len(q.Edges)].Path.StartTangent())
					note(edgeWaist+" over "+d.Name, math.Abs(before)+math.Abs(after))
				}
			}
		}
	}
	return all
}

// A measurement that changes by a millimetre moves no point of an outline far. A
// dart that comes in moves nothing by more than it takes up, the least that can be
// sewn.
func TestBelowWaistNothingJumps(t *testing.T) {
	t.Parallel()
	for _, block := range belowWaistBlocks {
		t.Run(block.spec().Name, func(t *testing.T) {
			t.Parallel()
			spec := block.spec()
			worst, where := 0.0, ""
			for group, people := range wornBy(t) {
				for i := 0; i < len(people); i += everyNth(23) {
					request := Request{Fit: spec.Fits[i%3].Name, Choices: block.variants[i%len(block.variants)]}
					base, err := draftTo(spec, request, people[i])
					if err != nil {
						continue
					}
					for n := range people[i] {
						m := maps.Clone(people[i])
						m[n]++
						moved, err := draftTo(spec, request, m)
						if errors.As(err, new(fault.List)) {
							continue // just beyond what can be drafted
						}
						if err != nil {
							t.Errorf("%s row %d, %s + 1 mm: %v", group, i, n, err)
							continue
						}
						for k, q := range base.Pieces {
							if d := apart(q.Outline(), moved.Pieces[k].Outline()); d > worst {
								worst, where = d, fmt.Sprintf("%s row %d %v, %s + 1 mm: %s moves %.2f mm", group, i, request, n, q.Name, d)
							}
						}
					}
				}
			}
			t.Log(where)
			if worst > block.moves {
				t.Errorf("a millimetre more may move a point by at most %g mm: %s", block.moves, where)
			}
		})
	}
}

func draftTo(spec Spec, r Request, m body.Measures) (pattern.Pattern, error) {
	requires, uses := spec.Needs(r.Choices)
	b, faults := body.NewIn(body.Millimetre, m, requires, uses)
	if faults != nil {
		return pattern.Pattern{}, faults
	}
	r.Body = b
	return Draft(context.Background(), spec.Name, r)
}

// apart is how far one outline strays from another at most.
func apart(a, b geom.Path) float64 {
	var most float64
	for _, pair := range [2][2]geom.Path{{a, b}, {b, a}} {
		for _, s := range pair[0] {
			for k := range 4 {
				q := s.At(float64(k) / 4)
				_, d, _ := pair[1].Nearest(q)
				most = math.Max(most, d)
			}
		}
	}
	return most
}

// Measures are read from the finished outline, not from the figures that built
// it: a piece spoiled by hand fails.
func spoiled(t *testing.T, readBack func(*pattern.Pattern) error, p pattern.Pattern, piece int, run string,
	by geom.Point, want string) {
	t.Helper()
	spoilt := p
	spoilt.Pieces = append([]pattern.Piece(nil), p.Pieces...)
	q := &spoilt.Pieces[piece]
	q.Edges = append([]pattern.Edge(nil), q.Edges...)
	for i, e := range q.Edges {
		if e.Run == run {
			q.Edges[i].Path = e.Path.Move(geom.Shift(by))
		}
	}
	if err := readBack(&spoilt); err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%s of %s moved by %v: %v, want %s", run, q.Name, by, err, want)
	}
}

// wantRefusal fails the test unless err refuses the body at a field, with a reason that says because.
func wantRefusal(t *testing.T, err error, field, because string) {
	t.Helper()
	var faults fault.List
	if !errors.As(err, &faults) {
		t.Fatalf("error %v, want a refusal", err)
	}
	if f := faults[0]; f.Field != field || !strings.Contains(f.Accepted, because) || f.Code != fault.Undraftable {
		t.Errorf("refused with %+v", f)
	}
}
