package block

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

const (
	pieceLeg    = "leg"
	pieceGusset = "gusset"

	edgeCrotchFront = "crotch_front"
	edgeCrotchBack  = "crotch_back"
	edgeInseamFront = "inseam_front"
	edgeInseamBack  = "inseam_back"
	edgeGussetFront = "gusset_front"
	edgeGussetBack  = "gusset_back"
	edgeGussetFold  = "centre"

	lineThigh = "thigh"
	lineCalf  = "calf"
	lineAnkle = "ankle"
	lineSide  = "side"
)

// legLines names the lines at the stations of the leg.
var legLines = [...]string{atThigh: lineThigh, atKnee: lineKnee, atCalf: lineCalf, atAnkle: lineAnkle}

// pattern assembles the leg, and the gusset if there is one, and reads them back.
func (s *leggings) pattern(d leggingsDraft) (pattern.Pattern, error) {
	whole := s.piece(&d)
	leg, pieces := whole, []pattern.Piece{whole}
	if s.gusset {
		var diamond pattern.Piece
		var err error
		if leg, diamond, err = s.setGusset(whole); err != nil {
			return pattern.Pattern{}, err
		}
		pieces = []pattern.Piece{leg, diamond}
	}
	pairs := []cutting.Pairing{
		sew(leg, edgeCrotchFront, leg, edgeCrotchFront), sew(leg, edgeCrotchBack, leg, edgeCrotchBack),
		sew(leg, edgeInseamFront, leg, edgeInseamBack),
	}
	if s.gusset {
		for _, run := range [...]string{edgeGussetFront, edgeGussetBack} {
			pairs = append(pairs, sew(leg, run, pieces[1], run))
		}
	}
	p, err := assemble(pieces, pairs...)
	if err != nil {
		return p, err
	}
	p.Warnings = s.warnings
	return p, s.readBack(&p, whole, &d)
}

// piece returns the leg without a gusset.
func (s *leggings) piece(d *leggingsDraft) pattern.Piece {
	turn := geom.Reflect(geom.Point{}, geom.Pt(0, 1))
	crotch := func(i int) geom.Path { return geom.Path{d.crotch[i], geom.Line(d.crotch[i].P3, d.top(i))} }
	end := d.inseam.End()
	hem := hemAcross(end, d.inseam.EndTangent(), mirrored(end), d.inseam.Move(turn).EndTangent())
	p := pattern.Piece{Name: pieceLeg, Title: "Leg", Cut: pattern.Cut{Count: 2, Pair: true}}
	p.Edges = []pattern.Edge{
		edge(edgeWaist, pattern.RoleSeam, d.waist...),
		edge(edgeCrotchFront, pattern.RoleSeam, crotch(front).Reverse()...),
		edge(edgeInseamFront, pattern.RoleSeam, d.inseam...),
		edge(edgeHem, pattern.RoleHem, hem),
		edge(edgeInseamBack, pattern.RoleSeam, d.inseam.Move(turn).Reverse()...),
		edge(edgeCrotchBack, pattern.RoleSeam, crotch(back).Move(turn)...),
	}
	level := func(name string, y float64, from, to geom.Path) {
		a, okA := crossLevel(from, y)
		b, okB := crossLevel(to, y)
		if okA && okB && y < s.hemAt-1e-9 {
			p.Lines = append(p.Lines, pattern.Line{Name: name, Path: geom.Path{geom.Line(a, b)}})
		}
	}
	level(lineHip, s.hipAt, p.Run(edgeCrotchBack), p.Run(edgeCrotchFront))
	for i, name := range legLines {
		if at := d.leg[i].At; name != "" && s.reads(at) {
			level(name, at, p.Run(edgeInseamBack), p.Run(edgeInseamFront))
		}
	}
	p.Lines = append(p.Lines, pattern.Line{Name: lineSide,
		Path: geom.Path{geom.Line(geom.Pt(d.side, s.hipAt), geom.Pt(d.side, d.depth))}})
	p.Grain = grainLine(0, s.hipAt, s.hemAt-35)
	p.Notches = []pattern.Notch{
		{Edge: edgeCrotchFront, At: crotch(front).Length() - d.crotch[front].Length(), Kind: pattern.NotchSingle},
		{Edge: edgeCrotchBack, At: d.crotch[back].Length(), Kind: pattern.NotchDouble},
	}
	if knee := s.leg[atKnee].At; s.reads(knee) {
		at := lengthTo(d.inseam, knee)
		p.Notches = append(p.Notches,
			pattern.Notch{Edge: edgeInseamFront, At: at, Kind: pattern.NotchSingle},
			pattern.Notch{Edge: edgeInseamBack, At: d.inseam.Length() - at, Kind: pattern.NotchSingle})
	}
	return p
}

// A gusset is so wide as a share of the hip at rest, and takes so much off the
// crotch seam at the back and in front (common practice, from memory: 70 to 100
// mm wide and 100 to 140 long). It takes at most gussetOf of an inseam, and is
// smaller in a leg that is too short for it.
const (
	gussetWide    = 0.10
	gussetOf      = 0.6
	gussetSmaller = 0.96
)

var gussetTall = [2]float64{back: 0.075, front: 0.055}

// setGusset cuts the ends of the crotch off a leg, as far along both inseams, and
// returns it with half the diamond that takes their place. The diamond is as long
// as what it takes of the crotch seam, and its sides are as long as the cuts.
func (s *leggings) setGusset(leg pattern.Piece) (cut, diamond pattern.Piece, err error) {
	frontRun, backRun := leg.Run(edgeInseamFront), leg.Run(edgeInseamBack)
	most := gussetOf * frontRun.Length()
	for size := 2 * s.hip; size > s.hip; size *= gussetSmaller {
		tall := [2]float64{gussetTall[back] * size, gussetTall[front] * size}
		crotchFront, _ := leg.Run(edgeCrotchFront).SplitAt(leg.RunLength(edgeCrotchFront) - tall[front])
		_, crotchBack := leg.Run(edgeCrotchBack).SplitAt(tall[back])
		take := func(along float64) pattern.Piece {
			return halfDiamond(crotchFront.End().Dist(pointAlong(frontRun, along)),
				crotchBack.Start().Dist(pointAlong(backRun.Reverse(), along)), tall)
		}
		along, ok := root(1, most, 1e-9, func(v float64) float64 {
			return -take(v).Edges[0].Path.Start().X - gussetWide*size/2
		})
		if ok {
			return withGusset(leg, crotchFront, crotchBack, along), take(along), nil
		}
	}
	return cut, diamond, refuseChoice(choiceGusset, "yes",
		fmt.Sprintf("no, or a longer leg: its inseam of %.0f mm has no room for a gusset", frontRun.Length()))
}

func pointAlong(path geom.Path, d float64) geom.Point {
	before, _ := path.SplitAt(d)
	return before.End()
}

// withGusset returns a leg with its crotch cut off, and so much of its inseams.
func withGusset(leg pattern.Piece, crotchFront, crotchBack geom.Path, along float64) pattern.Piece {
	_, inseamFront := leg.Run(edgeInseamFront).SplitAt(along)
	inseamBack, _ := leg.Run(edgeInseamBack).SplitAt(leg.RunLength(edgeInseamBack) - along)
	tall := leg.RunLength(edgeCrotchBack) - crotchBack.Length()
	cut := leg
	cut.Edges = []pattern.Edge{
		leg.Edges[leg.EdgeIndex(edgeWaist)],
		edge(edgeCrotchFront, pattern.RoleSeam, crotchFront...),
		edge(edgeGussetFront, pattern.RoleSeam, geom.Line(crotchFront.End(), inseamFront.Start())),
		edge(edgeInseamFront, pattern.RoleSeam, inseamFront...),
		leg.Edges[leg.EdgeIndex(edgeHem)],
		edge(edgeInseamBack, pattern.RoleSeam, inseamBack...),
		edge(edgeGussetBack, pattern.RoleSeam, geom.Line(inseamBack.End(), crotchBack.Start())),
		edge(edgeCrotchBack, pattern.RoleSeam, crotchBack...),
	}
	cut.Notches = slices.Clone(leg.Notches)
	for i := range cut.Notches {
		switch n := &cut.Notches[i]; n.Edge {
		case edgeInseamFront:
			n.At -= along
		case edgeCrotchBack:
			n.At -= tall
		}
	}
	return cut
}

// halfDiamond returns half a gusset, on the fold from its front end down to its
// back end: the triangle of two sides, and of what both take of the crotch seam.
func halfDiamond(frontSide, backSide float64, of [2]float64) pattern.Piece {
	tall := of[front] + of[back]
	down := (frontSide*frontSide - backSide*backSide + tall*tall) / (2 * tall)
	side := geom.Pt(-math.Sqrt(math.Max(0, frontSide*frontSide-down*down)), down)
	top, foot := geom.Point{}, geom.Pt(0, tall)
	p := pattern.Piece{Name: pieceGusset, Title: "Gusset", Cut: cutOf(true), Edges: []pattern.Edge{
		edge(edgeGussetFront, pattern.RoleSeam, geom.Line(side, top)),
		edge(edgeGussetFold, pattern.RoleFold, geom.Line(top, foot)),
		edge(edgeGussetBack, pattern.RoleSeam, geom.Line(foot, side)),
	}}
	p.Grain = grainLine(side.X/4, tall/4, 3*tall/4)
	return p
}

// readBack measures the finished pieces; see checks. Rise and inside leg are
// measured down the grain as on the body, before a gusset takes the fork's place:
// from the waist at the side to the level of the fork, and from there to the hem.
func (s *leggings) readBack(p *pattern.Pattern, whole pattern.Piece, d *leggingsDraft) error {
	c := checks{person: s.body, alteration: s.alterationOf}
	leg := p.Pieces[0]
	crotch := leg.RunLength(edgeCrotchFront) + leg.RunLength(edgeCrotchBack)
	if g, ok := p.Piece(pieceGusset); ok {
		crotch += g.RunLength(edgeGussetFold)
	}
	across := func(line, from, to string) float64 {
		level, ok := levelOf(leg, line)
		w, met := breadth(whole, from, to, level)
		if !ok || !met {
			c.broken = append(c.broken, fmt.Sprintf("the %s line does not run from seam to seam", line))
		}
		return w
	}
	fork := whole.Run(edgeCrotchFront).End()
	waist := leg.Run(edgeWaist)
	at, ok := overSide(leg)
	if !ok {
		c.broken = append(c.broken, "the waist does not pass over the side line")
	}
	hip, _ := levelOf(leg, lineHip)
	foot := leg.Run(edgeHem).Start().Y

	of := func(n body.Name, target float64) float64 { return target - s.body.Value(n) - s.alterationOf(n) }
	c.atLeast(body.WaistGirth, of(body.WaistGirth, 2*s.waist), 2*waist.Length())
	c.measure(body.HipGirth, of(body.HipGirth, 2*s.hip), 2*across(lineHip, edgeCrotchBack, edgeCrotchFront))
	c.measure(body.WaistToHip, of(body.WaistToHip, s.hipAt), hip-at.Y)
	c.measure(body.BodyRise, of(body.BodyRise, d.depth), fork.Y-at.Y)
	c.measure(body.TotalCrotchLength, of(body.TotalCrotchLength, s.crotch), crotch)
	c.measure(body.InsideLeg, of(body.InsideLeg, s.hemAt-d.depth), foot-fork.Y)
	outside := body.WaistToFloor
	if s.body.Has(body.OutsideLeg) {
		outside = body.OutsideLeg
	}
	c.measure(outside, of(outside, s.hemAt), foot-at.Y)
	girth := func(n body.Name, i int, drafted float64) {
		if s.body.Has(n) {
			c.measure(n, of(n, d.leg[i].Girth), drafted)
		} else {
			c.pair(string(n), d.leg[i].Girth, 0, drafted)
		}
	}
	for i, n := range [...]body.Name{
		atThigh: body.ThighGirth, atKnee: body.KneeGirth, atCalf: body.CalfGirth, atAnkle: body.AnkleGirth,
	} {
		switch at := d.leg[i].At; {
		case n == "":
		case at == s.hemAt:
			h := leg.Run(edgeHem)
			girth(n, i, h.Start().Dist(h.End()))
		case s.reads(at):
			girth(n, i, across(legLines[i], edgeInseamBack, edgeInseamFront))
		}
	}
	return c.judge(p, body.WaistGirth, body.HipGirth, body.BodyRise)
}

// reads reports whether the leg is as wide as its station at a level says: the
// width nearer to the hem follows from that of the hem.
func (s *leggings) reads(at float64) bool {
	return at <= s.hemAt-endOver || at == s.leg[atAnkle].At && at < s.hemAt
}

// overSide returns the point of a leg's waist straight over its side line.
func overSide(leg pattern.Piece) (geom.Point, bool) {
	for _, l := range leg.Lines {
		if l.Name != lineSide {
			continue
		}
		for _, s := range leg.Run(edgeWaist) {
			if t, ok := root(0, 1, 1e-12, func(t float64) float64 { return s.At(t).X - l.Path.Start().X }); ok {
				return s.At(t), true
			}
		}
	}
	return geom.Point{}, false
}
