package style

import (
	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
)

var gussetVerbs = []declaration{
	{"Cut and join", `gusset(name, title text, front length, width length, back length=None) piece`,
		`Make the gusset {title}[, named {name}], {width} wide, its sides {front} long[, those at the back {back}].`,
		`Makes a gusset for an underarm or a crotch, width mm wide between its corners in the seams, its sides as long as ` +
			`the edges that it is sewn to: a diamond with the edges front_left, front_right, back_right and back_left, its ` +
			`front at the top. Without back it is the front or the back of a gusset in two, a triangle with the edges left, ` +
			`right and base, which is sewn in before the side seam is sewn through its base.`,
		newGusset},
	{"Cut and join", `gusset_slit(piece, edge, at along, long length, first name, second name, opening length=12) piece`,
		`Slit the {edge} of {piece} {at} for a gusset, {long} deep, between {first} and {second}[, {opening} wide at ` +
			`its mouth].`,
		`Opens a slit for a gusset, square to an edge at mm along it. Its sides are the edges gusset_start and gusset_end, ` +
			`each long mm; what is left of the edge on both sides is named first and second. The slit is as wide at its ` +
			`mouth as both allowances, so that it is cut along one line, and its tip is drilled: reinforce it before it is ` +
			`cut. Slit front and back at the same place. On the front gusset_start is then sewn to the gusset's front_left ` +
			`and gusset_end to its front_right, and on the back to back_left and back_right. An order whose piece has no ` +
			`room for it is refused.`,
		gussetSlit},
}

func newGusset(c *call) (starlark.Value, error) {
	var name, title string
	var s cutting.GussetShape
	var back optional
	if err := c.unpack(&name, &title, &s.Front, &s.Width, &back); err != nil {
		return nil, err
	}
	if !back.given {
		return asPiece(cutting.HalfGusset(name, title, s))
	}
	s.Back = back.value
	return asPiece(cutting.Gusset(name, title, s))
}

func gussetSlit(c *call) (starlark.Value, error) {
	var p *piece
	s := cutting.GussetSlit{Opening: 12}
	if err := c.unpack(&p, &s.At.Run, &s.At.At, &s.Long, &s.First, &s.Second, &s.Opening); err != nil {
		return nil, err
	}
	for _, name := range [...]string{s.First, s.Second} {
		if err := checkName(name); err != nil {
			return nil, err
		}
	}
	if s.At.At < 0 {
		s.At.At += p.RunLength(s.At.Run)
	}
	q, err := cutting.OpenForGusset(p.Piece, s)
	if err != nil {
		return nil, c.orRefuse(err, nil)
	}
	return p.with(q), nil
}
