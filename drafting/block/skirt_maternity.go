package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// The choice of a skirt for a belly in pregnancy.
const (
	choiceMaternity = "maternity"
	overBelly       = "over"  // from the waist, over the belly
	belowBelly      = "below" // from below the belly
)

var maternityChoice = withSpares(optionChoice(choiceMaternity, "A skirt for a belly in pregnancy, without darts and "+
	"with sides straight up from the hip, to be drawn in by elastic or jersey: from the waist over the belly, or "+
	"from below it.",
	none, overBelly, belowBelly),
	map[string]Spared{none: {Unused: []body.Name{body.BellyGirth, body.WaistToBelly}}})

// The shape of a belly in pregnancy (from memory: at the end its girth has grown by some 270 mm, and
// its depth by 120; the others are ours).
const (
	bellyDepth   = 0.45 // by which it stands out, for each mm that its girth has grown
	bellyAtWaist = 0.5  // of that, at the waist
)

// Where a skirt begins below a belly (tuned by eye on the survey's bodies).
const (
	lowAtSide  = 25.0 // below the level of the belly's fullest place, mm
	underBelly = 0.9  // in front, of the way from there to the hip
	leastToHip = 15.0 // from its upper edge at the side down to the hip line, mm
	leastNotch = 15.0 // between two notches of a side, or from its end, mm
	lineBelly  = "belly"
)

// maternity holds the lengths from which a skirt for a belly is drawn, mm from the skirt's upper edge at the side.
type maternity struct {
	over    bool
	fullest float64 // level of the belly girth; above the edge it is negative
	girth   float64 // half the girth that the skirt needs there
	longer  float64 // by which the centre front is longer over the belly
	dips    float64 // by which the centre front begins lower
}

// carryChild sets up a skirt for a belly in pregnancy. The back keeps its width. Over the belly the
// front is as wide as the belly girth needs, and falls straight from there: cloth that came in again
// under the belly would catch on it.
func (s *skirt) carryChild(r Request) error {
	word := r.word(choiceMaternity, none)
	if word == none {
		return nil
	}
	b := s.body
	if !b.Given(body.BellyGirth) {
		return refuse("a maternity skirt is drafted by the belly girth", body.BellyGirth)
	}
	m := &maternity{over: word == overBelly}
	s.maternity, s.darts = m, [2][]takeUp{}
	down := b.Value(body.WaistToBelly)
	if !m.over {
		if s.top.by > 0 {
			return refuseChoice(choiceWaist, fmt.Sprintf("%.0f mm", s.top.by),
				"natural, for a skirt that begins below the belly: the belly says where")
		}
		natural := s.top.hip
		s.top.by = math.Min(down+lowAtSide, natural-leastToHip)
		s.top.hip = natural - s.top.by
		m.dips = math.Max(0, down+underBelly*(natural-down)-s.top.by)
		m.fullest = down - s.top.by
		return nil
	}
	before := b.Value(body.WaistGirth) +
		down/b.Value(body.WaistToHip)*math.Max(0, b.Value(body.HipGirth)-b.Value(body.WaistGirth))
	out := bellyDepth * math.Max(0, b.Value(body.BellyGirth)-before)
	m.fullest = down - s.top.by
	m.longer = math.Hypot(out*(1-bellyAtWaist), down) - down
	m.girth = (b.Value(body.BellyGirth) + s.ease[string(body.BellyGirth)]) / 2
	s.hipWidth[front] = math.Max(s.hipWidth[front], m.girth-s.hipWidth[back])
	return nil
}

// fitBelly draws sides and upper edges: straight, except for a front that begins below the belly.
func (s *skirt) fitBelly() {
	s.hipLine = s.top.hip
	s.centres = [2]float64{0, s.maternity.dips}
	for i, w := range s.hipWidth {
		s.sides[i] = geom.Line(geom.Pt(w, 0), geom.Pt(w, s.hipLine))
		edge := soft(geom.Pt(0, s.centres[i]), geom.Pt(1, 0), geom.Pt(w, 0), geom.Pt(1, 0))
		s.waists[i] = drawnWaist{closed: edge, parts: []geom.Segment{edge}}
	}
}

// hemOf returns the hem of a piece, from the side to the centre. Over a belly the centre front is
// longer.
func (s *skirt) hemOf(i int, corner, bottom geom.Point) geom.Segment {
	if i == back || s.maternity == nil || s.maternity.longer == 0 {
		return geom.Line(corner, bottom)
	}
	return soft(corner, geom.Pt(-1, 0), bottom.Add(geom.Pt(0, s.maternity.longer)), geom.Pt(-1, 0))
}

// markBelly adds to a piece the level of the belly girth and its notch.
func (s *skirt) markBelly(p *pattern.Piece, width float64) {
	at := s.maternity.fullest
	if !s.maternity.over || at < leastNotch {
		return
	}
	p.Lines = append(p.Lines, pattern.Line{Name: lineBelly,
		Path: geom.Path{geom.Line(geom.Pt(0, at), geom.Pt(width, at))}})
	if s.top.hip-at >= leastNotch {
		p.Notches = append(p.Notches, pattern.Notch{Edge: edgeSide, At: at, Kind: pattern.NotchSingle})
	}
}

// readBelly measures the finished pieces; see checks. The skirt is at least as wide at the hip as
// ordered.
func (s *skirt) readBelly(p *pattern.Pattern) error {
	c := checks{person: s.body}
	m := s.maternity
	around := func(y float64) (girth float64) {
		for i, centre := range [2]string{edgeBackCentre, edgeCentre} {
			w, ok := breadth(p.Pieces[i], centre, edgeSide, y)
			if !ok {
				c.broken = append(c.broken, fmt.Sprintf("%s: it does not run from seam to seam %.0f mm below its side's upper "+
					"end", p.Pieces[i].Name, y))
			}
			girth += 2 * w
		}
		return girth
	}
	b, f := p.Pieces[back], p.Pieces[front]
	level, _ := levelOf(b, lineHip)
	side := b.Run(edgeSide)
	if m.over {
		c.atLeast(body.BellyGirth, s.ease[string(body.BellyGirth)], around(m.fullest))
	}
	c.atLeast(body.HipGirth, s.ease[string(body.HipGirth)], around(level))
	c.measure(body.WaistToHip, s.top.hip-s.body.Value(body.WaistToHip), lengthTo(side, level))
	c.pair("side_length", s.length, 0, side.Length())
	c.pair("centre_front_length", s.length, m.longer-m.dips, f.Run(edgeCentre).Length())
	return c.judge(p, body.BellyGirth, body.HipGirth, body.WaistToHip)
}
