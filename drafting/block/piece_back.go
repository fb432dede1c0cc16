package block

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Names of pieces and edges.
const (
	pieceBack   = "back"
	pieceFront  = "front"
	pieceSleeve = "sleeve"

	edgeNeckline   = "neckline"
	edgeShoulder   = "shoulder"
	edgeArmhole    = "armhole"
	edgeSide       = "side"
	edgeHem        = "hem"
	edgeBackCentre = "centre_back"
	edgeCentre     = "centre_front"

	dartShoulder = "shoulder_dart"
	dartWaist    = "waist_dart"
	dartBust     = "bust_dart"
	dartElbow    = "elbow_dart"

	lineBust  = "bust"
	lineWaist = "waist"
	lineHip   = "hip"
	lineElbow = "elbow"
)

func mouthOf(dart string) string { return dart + "_mouth" }

func edge(name string, role pattern.Role, path ...geom.Segment) pattern.Edge {
	return pattern.Edge{Name: name, Run: name, Role: role, Path: path}
}

// backPiece assembles the back with the centre back on x = 0.
func (f *figure) backPiece(u *upper, m *married) pattern.Piece {
	p := pattern.Piece{Name: pieceBack, Title: "Back", Cut: cutOf(f.backFold)}
	p.Edges = append(p.Edges,
		edge(edgeNeckline, pattern.RoleNeckline, u.backNeck),
		edge(edgeShoulder, pattern.RoleSeam, u.backShoulder[0]...))
	if u.hasShoulderDart() {
		a, b := u.backShoulder[0].End(), u.backShoulder[1].Start()
		p.Edges = append(p.Edges,
			edge(mouthOf(dartShoulder), pattern.RoleDartMouth, geom.Line(a, b)),
			edge(edgeShoulder, pattern.RoleSeam, u.backShoulder[1]...))
		p.Darts = append(p.Darts, mouthDart(dartShoulder, u.shoulderDart, a, b, 0))
	} else if f.shoulderDarted {
		mouth := u.backShoulder[0].At(shoulderDartAt * u.backShoulder[0].Length())
		apex := mouth.Add(u.backSquare.Mul(shoulderDartLength))
		p.Darts = append(p.Darts, pattern.EmptyDart(dartShoulder, mouth, apex))
	}
	p.Edges = append(p.Edges,
		edge(edgeArmhole, pattern.RoleArmhole, m.armholes[back].path()...),
		edge(edgeSide, pattern.RoleSeam, m.sideBack...))
	bottom := geom.Pt(0, f.hem)
	if f.legs != nil {
		bottom = f.addLeg(&p, back, &m.trunk)
	} else {
		f.addHem(&p, m.sideBack, bottom, m.backDarts)
	}
	centre := pattern.RoleSeam
	if f.backFold {
		centre = pattern.RoleFold
	}
	p.Edges = append(p.Edges, edge(edgeBackCentre, centre, geom.Line(bottom, geom.Point{})))

	waist := f.napeToWaist
	f.addLevel(&p, lineBust, m.bustLine, xAtLevel(m.sideBack, m.bustLine))
	f.addLevel(&p, lineWaist, waist, m.waistBack)
	if hip := waist + f.hipDepth(); hip <= f.hem+1e-9 {
		f.addLevel(&p, lineHip, hip, xAtLevel(m.sideBack, hip))
	}
	f.shiftCentre(&p, m)
	p.Grain = grainLine(0.2*m.waistBack, m.depth-30, f.hem-35)
	p.Notches = append(p.Notches, pattern.Notch{Edge: edgeSide, At: m.seams[back].upper().Length(),
		Kind: pattern.NotchSingle})
	if !f.backFold {
		below := p.Edges[p.EdgeIndex(edgeBackCentre)].Path.Start().Y - waist - f.centreShift(waist, m.depth)
		p.Notches = append(p.Notches, pattern.Notch{Edge: edgeBackCentre, At: below, Kind: pattern.NotchDouble})
	}
	if f.sleeve != "none" {
		p.Notches = append(p.Notches, pattern.Notch{Edge: edgeArmhole,
			At: m.armholes[back].length() - f.backNotch(m), Kind: pattern.NotchDouble})
	}
	return p
}

// backNotch and frontNotch return the distance of the armhole's notches from
// the underarm, along the armhole and the cap alike, mm. Below them nothing is
// eased.
func (f *figure) backNotch(m *married) float64  { return 0.95 * m.armholes[back].lower.Length() }
func (f *figure) frontNotch(m *married) float64 { return m.armholes[front].lower.Length() }

// cutOf returns the cut of one piece on the fold, or of a pair.
func cutOf(onFold bool) pattern.Cut {
	if onFold {
		return pattern.Cut{Count: 1, OnFold: true}
	}
	return pattern.Cut{Count: 2, Pair: true}
}

// mouthDart returns a dart with straight legs from the mouth's ends a and b.
func mouthDart(name string, apex, a, b geom.Point, pressed int) pattern.Dart {
	return pattern.Dart{Name: name, Mouth: mouthOf(name), Apexes: []geom.Point{apex}, Pressed: pressed,
		Legs: [2]geom.Path{{geom.Line(a, apex)}, {geom.Line(b, apex)}}}
}

func grainLine(x, top, bottom float64) geom.Segment {
	if bottom-top < 60 {
		top = bottom - 60
	}
	return geom.Line(geom.Pt(x, top), geom.Pt(x, bottom))
}

// addLevel adds a level line from the centre to x.
func (f *figure) addLevel(p *pattern.Piece, name string, y, x float64) {
	p.Lines = append(p.Lines, pattern.Line{Name: name, Path: geom.Path{geom.Line(geom.Pt(0, y), geom.Pt(x, y))}})
}

// dartName returns the name of dart i of count equal darts on a piece.
func dartName(name string, i, count int) string {
	if count == 1 {
		return name
	}
	return fmt.Sprintf("%s_%d", name, i+1)
}

// addHem adds the hem from the side to the centre at bottom, with the waist
// darts: inside the piece, or open at the hem of a block that ends at the
// waist. There the hem is drawn square to every dart leg, so that it is smooth
// with the darts closed.
func (f *figure) addHem(p *pattern.Piece, side geom.Path, bottom geom.Point, darts waistDarts) {
	at, along := side.End(), side.EndTangent().Right()
	xs := darts.xs()
	for i := len(xs) - 1; i >= 0; i-- {
		name, x := dartName(dartWaist, i, len(xs)), xs[i]
		left, right := geom.Pt(x-darts.width/2, darts.waist), geom.Pt(x+darts.width/2, darts.waist)
		apex := geom.Pt(x, darts.top)
		if !f.endsAtWaist() {
			foot := geom.Pt(x, darts.bottom)
			p.Darts = append(p.Darts, pattern.Dart{Name: name, Apexes: []geom.Point{apex, foot}, Pressed: 0,
				Legs: [2]geom.Path{geom.Polyline(apex, left, foot), geom.Polyline(apex, right, foot)}})
			continue
		}
		next := 0.0
		if i > 0 {
			next = xs[i-1] + darts.width/2
		}
		run := (at.X - right.X + left.X - next) / 2
		left, right = trueLeg(apex, left, run), trueLeg(apex, right, run)
		p.Edges = append(p.Edges,
			edge(edgeHem, pattern.RoleHem, square(at, along, right, right.Sub(apex).Unit().Right())),
			edge(mouthOf(name), pattern.RoleDartMouth, geom.Line(right, left)))
		p.Darts = append(p.Darts, mouthDart(name, apex, right, left, 1))
		at, along = left, left.Sub(apex).Unit().Right()
	}
	p.Edges = append(p.Edges, edge(edgeHem, pattern.RoleHem, square(at, along, bottom, geom.Pt(-1, 0))))
}

// trueLeg lengthens a dart leg below the waist, so that a hem square to it sags
// evenly over a run on either side instead of meeting it at a corner.
func trueLeg(apex, end geom.Point, run float64) geom.Point {
	along := end.Sub(apex).Unit()
	return end.Add(along.Mul(run * 0.5 * math.Abs(along.X)))
}
