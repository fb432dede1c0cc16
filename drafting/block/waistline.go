package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

const (
	edgeWaist = "waist"
	dartPleat = "pleat"
)

// takeUp is cloth taken out at a waist: a dart, or a pleat folded straight
// down.
type takeUp struct {
	at     float64 // where its middle lies, as a share of the way from centre to side
	width  float64 // at the waist
	length float64 // to the dart's point; how far down a pleat is laid
	pleat  bool
}

// widthOf returns the total width of the take-ups at the waist, mm.
func widthOf(takes []takeUp) float64 {
	var sum float64
	for _, t := range takes {
		sum += t.width
	}
	return sum
}

// waistline holds what the waist of a piece of a skirt or of trousers is drawn
// from. It leaves the centre along one direction and arrives at the side along
// another, square to the seams there.
type waistline struct {
	centre, along geom.Point
	side, into    geom.Point
	takes         []takeUp
}

// drawnWaist is a waist with its darts and pleats.
type drawnWaist struct {
	closed geom.Segment   // as it lies when darts and pleats are closed
	parts  []geom.Segment // as they lie on the flat piece, centre first
	darts  []pattern.Dart // between them
}

// draw closes all darts and pleats while the centre stays in place, draws the
// waist as one smooth curve over them and opens them again. So both legs of
// every dart are equal and the sewn waist has no corner.
func (w waistline) draw() (drawnWaist, error) {
	chord := w.side.Sub(w.centre)
	axis := chord.Unit().Right() // darts lie square to the waist
	type closing struct {
		from, along geom.Point  // line of the closed dart
		open        geom.Motion // where the cloth beyond it lies on the flat piece
		shut        geom.Motion
	}
	shut, open := geom.Still, geom.Still
	closings := make([]closing, 0, len(w.takes))
	for _, t := range w.takes {
		middle := w.centre.Add(chord.Mul(t.at))
		c := closing{}
		if t.pleat {
			c.from, c.along = shut.Apply(middle.Sub(geom.Pt(t.width/2, 0))), shut.ApplyVector(geom.Pt(0, -1))
			fold := shut.ApplyVector(geom.Pt(-t.width, 0))
			shut = shut.Then(geom.Shift(fold))
			open = geom.Shift(fold.Neg()).Then(open)
		} else {
			apex := middle.Add(axis.Mul(t.length))
			half := math.Atan(t.width / 2 / t.length)
			c.from, c.along = shut.Apply(apex), shut.ApplyVector(axis.Neg().Rotate(geom.Point{}, -half))
			shut = shut.Then(geom.Turn(c.from, -2*half))
			open = geom.Turn(c.from, 2*half).Then(open)
		}
		c.open, c.shut = open, shut
		closings = append(closings, c)
	}
	d := drawnWaist{closed: soft(w.centre, w.along, shut.Apply(w.side), shut.ApplyVector(w.into))}
	rest, open := d.closed, geom.Still
	for i, c := range closings {
		at, ok := root(0, 1, 1e-13, func(t float64) float64 { return rest.At(t).Sub(c.from).Cross(c.along) })
		if !ok || at <= 0 || at >= 1 {
			return d, fmt.Errorf("dart %d does not meet the waist", i+1)
		}
		part, after := rest.Split(at)
		d.parts = append(d.parts, part.Move(open))
		t, inner, outer := w.takes[i], open.Apply(part.P3), c.open.Apply(part.P3)
		dart := pattern.Dart{Pressed: 0}
		if t.pleat {
			reach := geom.Pt(0, t.length)
			dart.Name = dartPleat
			dart.Legs = [2]geom.Path{{geom.Line(inner, inner.Add(reach))}, {geom.Line(outer, outer.Add(reach))}}
		} else {
			apex := open.Apply(c.from)
			dart.Name = dartWaist
			dart.Apexes = []geom.Point{apex}
			dart.Legs = [2]geom.Path{{geom.Line(inner, apex)}, {geom.Line(outer, apex)}}
		}
		d.darts = append(d.darts, dart)
		rest, open = after, c.open
	}
	d.parts = append(d.parts, rest.Move(open))
	return d, nil
}

// length returns the length of the sewn waist, mm.
func (d drawnWaist) length() float64 { return d.closed.Length() }

// addTo appends the waist's edges and darts to a piece.
func (d drawnWaist) addTo(p *pattern.Piece) {
	count := map[string]int{}
	for _, dart := range d.darts {
		count[dart.Name]++
	}
	seen := map[string]int{}
	for i, part := range d.parts {
		p.Edges = append(p.Edges, edge(edgeWaist, pattern.RoleSeam, part))
		if i == len(d.darts) {
			break
		}
		dart := d.darts[i]
		name := dartName(dart.Name, seen[dart.Name], count[dart.Name])
		seen[dart.Name]++
		dart.Name, dart.Mouth = name, mouthOf(name)
		p.Edges = append(p.Edges, edge(dart.Mouth, pattern.RoleDartMouth,
			geom.Line(dart.Legs[0].Start(), dart.Legs[1].Start())))
		p.Darts = append(p.Darts, dart)
	}
}

// maxDart is the widest waist dart, mm at the waist (common practice: darts of
// over 40 mm make points; a very curved figure must have a little more). The
// narrowest is leastSewn.
const maxDart = 60.0

// hipDarts returns how much darts take out of half the waist, mm, if it is
// narrower than the hip by open, without the centre seams' share; the side
// seams take the rest. A waist little smaller than the hip is shaped at the
// sides alone, as long as a dart would be too narrow to sew, and no side springs
// out more than 70 mm. (Common practice gives the sides of
// an ordinary figure 40 mm each and the darts 60 of 140; the rates between are
// ours.)
func hipDarts(open float64) float64 {
	const start, quick, end = 30.0, 48.0, 210.0
	var darts float64
	switch {
	case open <= start:
		return 0
	case open <= quick:
		t := (open - start) / (quick - start)
		darts = 14 * t * t * (3 - 2*t)
	case open <= end:
		darts = 14 + 0.5*(open-quick)
	default:
		darts = 14 + 0.5*(end-quick) + (open - end)
	}
	if darts < leastSewn {
		return 0
	}
	return darts
}

// backShare is the back's share of the darts (common practice: two of 20 mm
// against one of 20).
const backShare = 2.0 / 3

// shareDarts divides the darts between back and front. A front dart too narrow
// to sew goes to the back.
func shareDarts(darts float64) (back, front float64) {
	back = backShare * darts
	front = darts - back
	if front < leastSewn {
		return darts, 0
	}
	return back, front
}

// splitDart divides a width into one dart, or two: the second comes in once it
// can be sewn beside the first with the width alone, and grows until both are
// equal.
func splitDart(width, alone float64) (first, second float64) {
	second = math.Min(width/2, math.Max(0, width-alone))
	if second < leastSewn {
		second = 0
	}
	return width - second, second
}

// dartPlace holds the positions of a piece's darts, as shares of the way from
// centre to side, and their lengths in mm.
type dartPlace struct {
	alone            float64 // greatest width of a single dart
	single           float64 // its place
	inner, outer     float64 // places of two
	length, outerLen float64
}

// scale returns the place with its lengths multiplied by k.
func (p dartPlace) scale(k float64) dartPlace {
	p.length *= k
	p.outerLen *= k
	return p
}

// darts lays out the darts of one piece.
func (p dartPlace) darts(width float64) ([]takeUp, error) {
	if width <= 0 {
		return nil, nil
	}
	first, second := splitDart(width, p.alone)
	if first > maxDart {
		return nil, fmt.Errorf("a waist dart would take %.0f mm; at most %.0f mm can be sewn as one", first, maxDart)
	}
	// A narrow dart is also short.
	reach := func(w float64) float64 { return clamp(0.75+w/60, 0, 1) }
	var t float64
	if second > 0 {
		t = (second - leastSewn) / (first - leastSewn)
	}
	takes := []takeUp{{at: p.single + t*(p.inner-p.single), width: first, length: reach(first) * p.length}}
	if second > 0 {
		takes = append(takes, takeUp{at: p.outer, width: second, length: reach(second) * p.outerLen})
	}
	return takes, nil
}

// loweredWaist is a waist below the natural one.
type loweredWaist struct {
	by    float64 // mm down the side
	girth float64 // of the body there
	hip   float64 // from it down to the hip line
}

// minHipDepth is the least depth of the hip line below the natural waist, mm:
// nearer, the side seam would turn too fast.
const minHipDepth = 110

// lower returns the chosen waist. The girth changes evenly between the natural
// waist, the high hip half-way to the hip, and the hip (common practice).
func lower(b body.Body, v Value) (loweredWaist, error) {
	natural := naturalHip(b)
	w := loweredWaist{girth: b.Value(body.WaistGirth), hip: natural}
	if v.Word != "" || v.Number <= 0 {
		return w, nil
	}
	w.by, w.hip = v.Number, natural-v.Number
	if most := natural - leastOverHip; w.by > most {
		return w, refuseChoice(choiceWaist, fmt.Sprintf("%.0f mm", w.by),
			fmt.Sprintf("at most %.0f mm below the natural waist on this body: the hip lies %.0f mm below it", most, natural))
	}
	t := 2 * w.by / natural
	high := b.Value(body.HighHipGirth)
	if t <= 1 {
		w.girth += t * (high - w.girth)
	} else {
		w.girth = high + (t-1)*(b.Value(body.HipGirth)-high)
	}
	return w, nil
}

const (
	choiceWaist = "waist"
	natural     = "natural"
)

// lowerWaistChoice returns the choice of the upper edge's level.
func lowerWaistChoice(limits func(Request) (lo, hi float64)) Choice {
	return Choice{
		Name: choiceWaist, Kind: KindLength, Default: Value{Word: natural}, Options: []string{natural}, Min: 5, Max: 80,
		Help: "Where the upper edge lies, to be sewn to a waistband or faced: the natural waist, or how far below it, at " +
			"least 70 mm over the hip line.",
		limits: limits,
	}
}

// openRise returns the rise on the flat piece of a smooth waist of length w
// from the centre to the side, mm, given its directions at the centre and the
// side (rising positive, radians) and the darts in it.
func openRise(w, centre, side float64, takes []takeUp) float64 {
	turn := side - centre
	var open float64
	for _, t := range takes {
		if !t.pleat {
			a := 2 * math.Atan(t.width/2/t.length)
			turn += a
			open += a * (1 - t.at)
		}
	}
	return w * (centre + turn/2 - open)
}

// sideRise returns the rise of a waist's side above its centre, mm, given that
// of the smoothest curve: nearly that, but never far more than the 12.5 mm of
// the handbook, because on a body side and centre are almost equally long from
// waist to hip.
func sideRise(smoothest float64) float64 {
	const most = 20
	return most * math.Tanh(0.75*smoothest/most)
}

// crossLevel returns the point where a run passes the level y in either
// direction.
func crossLevel(path geom.Path, y float64) (geom.Point, bool) {
	for _, s := range path {
		a, b := s.P0.Y-y, s.P3.Y-y
		if a*b > 0 {
			continue
		}
		if t, ok := root(0, 1, 1e-12, func(t float64) float64 { return s.At(t).Y - y }); ok {
			return s.At(t), true
		}
	}
	return geom.Point{}, false
}

// breadth returns the distance between two runs of a piece at the level y, mm.
func breadth(p pattern.Piece, a, b string, y float64) (float64, bool) {
	pa, okA := crossLevel(p.Run(a), y)
	pb, okB := crossLevel(p.Run(b), y)
	return abs(pa.X - pb.X), okA && okB
}

// lengthTo returns the length along a run to the level y, mm; 0 if the run does
// not reach it.
func lengthTo(path geom.Path, y float64) float64 {
	var sum float64
	for _, s := range path {
		a, b := s.P0.Y-y, s.P3.Y-y
		if a*b <= 0 {
			if t, ok := root(0, 1, 1e-12, func(t float64) float64 { return s.At(t).Y - y }); ok {
				return sum + s.LengthTo(t)
			}
		}
		sum += s.Length()
	}
	return 0
}

// levelOf returns the height of a piece's line by name.
func levelOf(p pattern.Piece, name string) (float64, bool) {
	for _, l := range p.Lines {
		if l.Name == name {
			return l.Path.Start().Y, true
		}
	}
	return 0, false
}
