package style

import (
	"math"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
)

var collarVerbs = []declaration{
	{"Collars", `stand(name, title text, neck length, button length, height length, rise length=12) piece`,
		`Make the collar stand {title}[, named {name}], for a half neck of {neck}, {height} high and {button} beyond the ` +
			`centre[, rising by {rise}].`,
		`Makes half a collar stand, cut on the fold at the centre back. Its neck edge is exactly neck mm to the ` +
			`centre front and extends button mm beyond it. Its edges are top, front, neck and centre_back.`,
		stand},
	{"Collars", `collar(name, title text, neck length, height length, point length, spread angle=18, drop length=8) piece`,
		`Make the collar {title}[, named {name}], for a half neck of {neck}, {height} high, its point {point} long[, ` +
			`leaning out by {spread}][, with a drop of {drop}].`,
		`Makes half a collar with points, cut on the fold at the centre back. height is its height at the ` +
			`centre back, point the length of its point, and spread the angle in degrees by which the point leans ` +
			`outward. A larger drop gives a longer outer edge. Its edges are outer, front, neck and centre_back.`,
		collar},
	{"Collars", `lapel(front piece, breaks along, stand length=28, width length=85, gorge length=75, slope angle=10, ` +
		`step length=30) piece`,
		`Draw a lapel on {front} that breaks {breaks} along the centre front[, under a collar stand of {stand}][, {width} ` +
			`wide][, its gorge {gorge} below the shoulder][, sloping by {slope}][, with a step of {step}].`,
		`Draws a lapel on a front with its button stand. It turns on a roll line from breaks mm along the centre front ` +
			`to a point beyond the neck point. width is square to the roll line at the lapel's tip; the gorge crosses ` +
			`the roll line gorge mm below the shoulder and slopes, as worn, by degrees; step is the part of it that the ` +
			`collar leaves free. The front's edges are then centre_front, lapel, step, gorge, neckline and shoulder; ` +
			`the line roll_line is drawn.`,
		lapel},
	{"Collars", `roll_collar(front piece, back piece, name, title text, stand length=28, fall length=42, ` +
		`point length=40, notch angle=60, thickness length=1) piece`,
		`Make for the lapel of {front} and the neck of {back} the collar {title}[, named {name}][, its stand {stand}][ and ` +
			`its fall {fall}][, its point {point} long][, {notch} from the step][, for cloth {thickness} thick].`,
		`Makes half a collar that rolls on from a lapel, cut on the fold at the centre back. Its neck edge is as long as ` +
			`the front's gorge and neckline and the back's neckline. Its outer edge is as long as the line on the back ` +
			`where it lies, and longer by the turn of cloth. stand must be that of the lapel. Its edges are outer, front, ` +
			`neck and centre_back.`,
		rollCollar},
	{"Collars", `shawl(front piece, back piece, breaks along, stand length=28, fall length=45, width length=90, ` +
		`thickness length=1) piece`,
		`Draw a shawl collar on {front} for the neck of {back} that breaks {breaks} along the centre front[, its stand ` +
			`{stand}][ and its fall {fall}][, {width} wide where it is fullest][, for cloth {thickness} thick].`,
		`Draws a shawl collar in one with a front with its button stand. It turns on a roll line from breaks mm along the ` +
			`centre front. The front's edges are then centre_front, collar_outer, collar_back, which is the seam at the ` +
			`centre back, collar_neck, which is as long as the back's neckline, and shoulder.`,
		shawl},
	{"Collars", `turn_of_cloth(piece, edges, by length=2) piece`,
		`Make {piece} larger at its {edges} by the turn of cloth[, {by}].`,
		`Moves one or more adjacent edges out by mm, so that an upper collar or a facing lies over the other one and ` +
			`the seam rolls under: 1 to 4 mm, more for a thick cloth.`,
		turnOfCloth},
	{"Collars", `hood(name, title text, neck length, height length, depth length, drop length=25) piece`,
		`Make the side of the hood {title}[, named {name}], for a half neck of {neck}, {height} high and {depth} deep[, ` +
			`{drop} lower in front].`,
		`Makes the side of a hood, cut as a pair and sewn from the neck over the crown. Its neck edge is exactly neck ` +
			`mm long. height is from the neck at the back to the crown, depth from the face to the back of the head. ` +
			`Its edges are crown, face and neck. Draw no cord into a child's hood.`,
		hood},
}

func stand(c *call) (starlark.Value, error) {
	var name, title string
	shape := cutting.StandShape{Rise: 12}
	err := c.unpack(&name, &title, &shape.Neck, &shape.Button, &shape.Height, &shape.Rise)
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.Stand(name, title, shape))
}

func collar(c *call) (starlark.Value, error) {
	var name, title string
	shape := cutting.CollarShape{Spread: 18, Drop: 8}
	err := c.unpack(&name, &title, &shape.Neck, &shape.Height, &shape.Point, &shape.Spread, &shape.Drop)
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.Collar(name, title, shape))
}

func lapel(c *call) (starlark.Value, error) {
	var p *piece
	s := cutting.LapelShape{Stand: 28, Width: 85, Gorge: 75, Slope: 10, Step: 30}
	if err := c.unpack(&p, &s.Breaks, &s.Stand, &s.Width, &s.Gorge, &s.Slope, &s.Step); err != nil {
		return nil, err
	}
	s.Slope *= math.Pi / 180
	if s.Breaks < 0 {
		s.Breaks += p.RunLength("centre_front")
	}
	return p.replace(cutting.Lapel(p.Piece, s))
}

func rollCollar(c *call) (starlark.Value, error) {
	var front, back *piece
	var name, title string
	s := cutting.RollCollarShape{Stand: 28, Fall: 42, Point: 40, Notch: 60, Thickness: 1}
	if err := c.unpack(&front, &back, &name, &title, &s.Stand, &s.Fall, &s.Point, &s.Notch, &s.Thickness); err != nil {
		return nil, err
	}
	s.Notch *= math.Pi / 180
	return asPiece(cutting.RollCollar(front.Piece, back.Piece, name, title, s))
}

func shawl(c *call) (starlark.Value, error) {
	var front, back *piece
	s := cutting.ShawlShape{Stand: 28, Fall: 45, Width: 90, Thickness: 1}
	if err := c.unpack(&front, &back, &s.Breaks, &s.Stand, &s.Fall, &s.Width, &s.Thickness); err != nil {
		return nil, err
	}
	if s.Breaks < 0 {
		s.Breaks += front.RunLength("centre_front")
	}
	return front.replace(cutting.Shawl(front.Piece, back.Piece, s))
}

func turnOfCloth(c *call) (starlark.Value, error) {
	var p *piece
	var edges names
	by := 2.0
	if err := c.unpack(&p, &edges, &by); err != nil {
		return nil, err
	}
	return p.replace(cutting.TurnOfCloth(p.Piece, edges, by))
}

func hood(c *call) (starlark.Value, error) {
	var name, title string
	s := cutting.HoodShape{Drop: 25}
	if err := c.unpack(&name, &title, &s.Neck, &s.Height, &s.Depth, &s.Drop); err != nil {
		return nil, err
	}
	return asPiece(cutting.Hood(name, title, s))
}
