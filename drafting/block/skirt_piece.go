package block

import (
	"fmt"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// pattern assembles back and front and reads them back.
func (s *skirt) pattern() (pattern.Pattern, error) {
	b := s.piece(back, pieceBack, "Skirt back", edgeBackCentre, s.backFold)
	f := s.piece(front, pieceFront, "Skirt front", edgeCentre, s.frontFold)
	p, err := assemble([]pattern.Piece{b, f}, sew(b, edgeSide, f, edgeSide))
	if err != nil {
		return p, err
	}
	p.Warnings = s.warnings
	return p, s.readBack(&p)
}

func (s *skirt) piece(i int, name, title, centre string, onFold bool) pattern.Piece {
	p := pattern.Piece{Name: name, Title: title, Cut: cutOf(onFold)}
	s.waists[i].addTo(&p)
	width, hem := s.hipWidth[i], s.hipLine+s.length-s.top.hip
	corner := geom.Pt(width, hem)
	hemLine := s.hemOf(i, corner, geom.Pt(0, hem))
	role := pattern.RoleSeam
	if onFold {
		role = pattern.RoleFold
	}
	p.Edges = append(p.Edges,
		edge(edgeSide, pattern.RoleSeam, s.sides[i], geom.Line(s.sides[i].P3, corner)),
		edge(edgeHem, pattern.RoleHem, hemLine),
		edge(centre, role, geom.Line(hemLine.P3, geom.Pt(0, s.centres[i]))))
	p.Lines = []pattern.Line{{Name: lineHip, Path: geom.Path{geom.Line(geom.Pt(0, s.hipLine), geom.Pt(width, s.hipLine))}}}
	grainFrom := s.hipLine - 20
	if s.maternity != nil {
		grainFrom = s.hipLine + 20 // the front may begin just above the hip
	}
	p.Grain = grainLine(0.4*width, grainFrom, hem-35)
	p.Notches = append(p.Notches, pattern.Notch{Edge: edgeSide, At: s.top.hip, Kind: pattern.NotchSingle})
	if s.maternity != nil {
		s.markBelly(&p, width)
	}
	if !onFold {
		kind := [2]pattern.NotchKind{pattern.NotchDouble, pattern.NotchSingle}[i]
		p.Notches = append(p.Notches, pattern.Notch{Edge: centre, At: hem - s.hipLine, Kind: kind})
	}
	return p
}

// readBack measures the finished pieces; see checks.
func (s *skirt) readBack(p *pattern.Pattern) error {
	if s.maternity != nil {
		return s.readBelly(p)
	}
	c := checks{person: s.body}
	var waist, hip, hem float64
	for i, centre := range [2]string{edgeBackCentre, edgeCentre} {
		q := p.Pieces[i]
		waist += 2 * q.Run(edgeWaist).Length()
		hem += 2 * q.Run(edgeHem).Length()
		level, _ := levelOf(q, lineHip)
		w, ok := breadth(q, centre, edgeSide, level)
		if !ok {
			c.broken = append(c.broken, fmt.Sprintf("%s: the hip line does not run from seam to seam", q.Name))
		}
		hip += 2 * w
	}
	b := p.Pieces[back]
	level, _ := levelOf(b, lineHip)
	side := b.Run(edgeSide)
	toHip := lengthTo(side, level)
	c.measure(body.WaistGirth, 2*s.waist-s.body.Value(body.WaistGirth), waist)
	c.measure(body.HipGirth, 2*s.hip-s.body.Value(body.HipGirth), hip)
	c.measure(body.WaistToHip, s.top.hip-s.body.Value(body.WaistToHip), toHip)
	c.pair("side_length", s.length, 0, side.Length())
	c.pair("hem_girth", 2*s.hip, 0, hem)
	return c.judge(p, body.WaistGirth, body.HipGirth, body.WaistToHip)
}
