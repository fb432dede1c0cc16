package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

const choicePart = "part"

// circleParts are the shares of a whole circle.
var circleParts = map[string]float64{"full": 1, "three_quarter": 0.75, "half": 0.5, "quarter": 0.25}

// circleSkirtSpec describes a skirt cut as part of a circle, with half of that
// part in the back and half in the front.
func circleSkirtSpec() Spec {
	return Spec{
		Name: "circle_skirt", Title: "Circle skirt block",
		Requires: []body.Name{body.WaistGirth, body.HipGirth, body.WaistToHip},
		Uses:     []body.Name{body.WaistToThigh, body.WaistToKnee, body.WaistToFloor},
		Choices: []Choice{
			optionChoice(choicePart, "How much of a whole circle the skirt is.", "half", "full", "three_quarter", "quarter"),
			skirtLengthChoice,
			optionChoice(choiceCentreBack, "Cut the back in two with a seam, for a fastening, or on the fold.", seam, fold),
			optionChoice(choiceCentreFront, "Cut the front on the fold, or in two with a seam.", fold, seam),
		},
		Fits: fitsOf(easeRow(string(body.WaistGirth), 0, 300, 0, 10, 20)),
	}
}

// CircleRadius returns the radius in mm at which the waist of a skirt that is
// part of a whole circle is drawn: waist / (2 pi part), by the circle's
// circumference. The hem's radius is larger by the skirt's length.
func CircleRadius(waist, part float64) float64 { return waist / (2 * math.Pi * part) }

// minCircleEase is the least ease of a circle skirt at the hip, mm (common
// practice: it must pass the hip and hang free).
const minCircleEase = 20

// circleSkirt holds the measures of a circle skirt. Pieces are drawn about the
// circle's centre, with the centre line straight down from it.
type circleSkirt struct {
	body     body.Body
	waist    float64 // full girth with ease
	part     float64
	radius   float64
	length   float64
	hipDepth float64
	warnings []string

	backFold, frontFold bool
}

// draftCircleSkirt drafts back and front, and reads every measure back from
// them.
func draftCircleSkirt(r Request) (pattern.Pattern, error) {
	b := r.Body
	ease, err := easeOf(r, circleSkirtSpec().Fits)
	if err != nil {
		return pattern.Pattern{}, err
	}
	c := circleSkirt{
		body: b, waist: b.Value(body.WaistGirth) + ease[string(body.WaistGirth)],
		part:     circleParts[r.word(choicePart, "half")],
		length:   skirtLength(b, r.Choices[choiceLength]),
		hipDepth: math.Max(b.Value(body.WaistToHip), minHipDepth),
		backFold: r.word(choiceCentreBack, seam) == fold, frontFold: r.word(choiceCentreFront, fold) == fold,
	}
	if c.length < c.hipDepth+minBelowHip {
		return pattern.Pattern{}, refuseChoice(choiceLength, fmt.Sprintf("%.0f mm", c.length),
			fmt.Sprintf("a skirt ends at least %d mm below the hip line, which lies %.0f mm below the waist on this body",
				minBelowHip, c.hipDepth))
	}
	if err := c.passHip(); err != nil {
		return pattern.Pattern{}, err
	}
	c.radius = CircleRadius(c.waist, c.part)
	return c.pattern()
}

// passHip opens the circle if the chosen part would not pass the hip.
func (c *circleSkirt) passHip() error {
	need := (c.body.Value(body.HipGirth) + minCircleEase - c.waist) / (2 * math.Pi * c.hipDepth)
	if need <= c.part {
		return nil
	}
	if need > 1 {
		return refuse(fmt.Sprintf("even a whole circle is %.0f mm short of the hip with %d mm of ease",
			2*math.Pi*c.hipDepth*(need-1), minCircleEase), body.WaistGirth, body.HipGirth, body.WaistToHip)
	}
	c.warnings = append(c.warnings,
		fmt.Sprintf("The skirt is opened from %g to %.2f of a circle, to pass the hip with %d mm of ease.",
			c.part, need, minCircleEase))
	c.part = need
	return nil
}

func (c *circleSkirt) pattern() (pattern.Pattern, error) {
	b := c.piece(pieceBack, "Skirt back", edgeBackCentre, c.backFold, pattern.NotchDouble)
	f := c.piece(pieceFront, "Skirt front", edgeCentre, c.frontFold, pattern.NotchSingle)
	p, err := assemble([]pattern.Piece{b, f}, sew(b, edgeSide, f, edgeSide))
	if err != nil {
		return p, err
	}
	p.Warnings = c.warnings
	return p, c.readBack(&p)
}

func (c *circleSkirt) piece(name, title, centre string, onFold bool, kind pattern.NotchKind) pattern.Piece {
	p := pattern.Piece{Name: name, Title: title, Cut: cutOf(onFold)}
	angle := math.Pi / 2 * c.part // of half a back, half a front
	hem, hip := c.radius+c.length, c.radius+c.hipDepth
	side := geom.Line(down(angle).Mul(c.radius), down(angle).Mul(hem))
	role := pattern.RoleSeam
	if onFold {
		role = pattern.RoleFold
	}
	p.Edges = []pattern.Edge{
		edge(edgeWaist, pattern.RoleSeam, circleArc(c.radius, angle)...),
		edge(edgeSide, pattern.RoleSeam, side),
		edge(edgeHem, pattern.RoleHem, circleArc(hem, angle).Reverse()...),
		edge(centre, role, geom.Line(geom.Pt(0, hem), geom.Pt(0, c.radius))),
	}
	p.Lines = []pattern.Line{{Name: lineHip, Path: circleArc(hip, angle)}}
	p.Grain = grainLine(0.3*c.radius*math.Sin(angle), c.radius+50, hem-50)
	p.Notches = []pattern.Notch{{Edge: edgeSide, At: c.hipDepth, Kind: pattern.NotchSingle}}
	if !onFold {
		p.Notches = append(p.Notches, pattern.Notch{Edge: centre, At: c.length - c.hipDepth, Kind: kind})
	}
	return p
}

// circleArc returns a part of the circle of the radius about the origin, from
// straight down through the angle towards the side. Each segment turns at most
// 22.5 degrees, so that it strays from the circle by less than a millionth.
func circleArc(radius, angle float64) geom.Path {
	n := int(math.Ceil(angle / (math.Pi / 8)))
	step := angle / float64(n)
	h := 4.0 / 3 * math.Tan(step/4) * radius
	path := make(geom.Path, n)
	for i := range path {
		a, b := float64(i)*step, float64(i+1)*step
		p0, p3 := down(a).Mul(radius), down(b).Mul(radius)
		path[i] = geom.Cubic(p0, p0.Add(outward(a).Mul(h)), p3.Sub(outward(b).Mul(h)), p3)
	}
	return path
}

// outward returns the direction round the circle at an angle from straight
// down.
func outward(angle float64) geom.Point { return geom.Pt(math.Cos(angle), -math.Sin(angle)) }

// readBack measures the finished pieces; see checks. The radius of a circle is
// an arc's length over its turn.
func (c *circleSkirt) readBack(p *pattern.Pattern) error {
	k := checks{person: c.body}
	var waist, hip, hem, turn float64
	for _, q := range p.Pieces {
		w := q.Run(edgeWaist)
		waist += 2 * w.Length()
		hem += 2 * q.Run(edgeHem).Length()
		turn += 2 * math.Abs(geom.AngleBetween(w.StartTangent(), w.EndTangent()))
		for _, l := range q.Lines {
			if l.Name == lineHip {
				hip += 2 * l.Path.Length()
			}
		}
	}
	k.measure(body.WaistGirth, c.waist-c.body.Value(body.WaistGirth), waist)
	k.measure(body.HipGirth, 2*math.Pi*c.part*(c.radius+c.hipDepth)-c.body.Value(body.HipGirth), hip)
	k.pair("waist_radius", CircleRadius(c.waist, c.part), 0, waist/turn)
	k.pair("side_length", c.length, 0, p.Pieces[back].Run(edgeSide).Length())
	k.pair("hem_girth", 2*math.Pi*c.part*(CircleRadius(c.waist, c.part)+c.length), 0, hem)
	return k.judge(p, body.WaistGirth)
}
