package form

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/body"
)

// Needs are the measurements of which a form is made.
var Needs = []body.Name{body.Height, body.BustGirth, body.UnderBustGirth, body.WaistGirth, body.HighHipGirth,
	body.HipGirth, body.NeckBaseGirth, body.ShoulderLength, body.ShoulderSlope, body.BackWidth, body.ChestWidth,
	body.BustPointWidth, body.UpperArmGirth, body.ElbowGirth, body.WristGirth, body.ArmLength, body.ShoulderToElbow,
	body.InsideLeg, body.ThighGirth, body.KneeGirth, body.CalfGirth, body.AnkleGirth, body.NapeHeight, body.ArmpitHeight,
	body.BustHeight, body.WaistHeight, body.HipHeight, body.KneeHeight, body.BodyRise, body.TotalCrotchLength}

// Make returns the form of a body, which must have all that a form Needs. The
// shapes of its sections are those of bodies with like proportions; their
// girths are the body's. A body with a belly girth has a belly in pregnancy.
func Make(ctx context.Context, b body.Body, woman bool) (*Form, error) {
	m := body.Measures{}
	for _, n := range Needs {
		if !b.Has(n) {
			return nil, fmt.Errorf("form: no measurement %s", n)
		}
		m[n] = b.Value(n)
	}
	lengths(m, b)
	k := &maker{m: m, model: &shapes().Women, trunk: &shapes().Trunk}
	if !woman {
		k.model = &shapes().Men
	}
	if err := k.levels(); err != nil {
		return nil, err
	}
	k.z = k.model.standard(FeaturesOf(m))
	k.section()
	if err := k.lengthen(b, woman); err != nil {
		return nil, err
	}
	k.seat()
	k.belly(b)
	f := &Form{Landmarks: k.landmarks()}
	return f, k.build(ctx, f)
}

// lengths moves levels whose height was not measured to where measured lengths
// put them.
func lengths(m body.Measures, b body.Body) {
	if b.Has(body.WaistToHip) && !b.Given(body.HipHeight) {
		m[body.HipHeight] = m[body.WaistHeight] - b.Value(body.WaistToHip)
	}
	// Between the legs there is room for the seat below the hip.
	m[body.InsideLeg] = min(m[body.InsideLeg], m[body.HipHeight]-leastSeat)
	// The chest of some men is fullest beside the armpits.
	m[body.ArmpitHeight] = max(m[body.ArmpitHeight], m[body.BustHeight]+15)
}

type maker struct {
	m     body.Measures
	model *Model
	trunk *Trunk
	z     []float64 // features

	height   []float64   // of the Stations above the floor
	shoulder r2.Vec      // x, y of the shoulder point
	neck     r2.Vec      // of the side neck point
	radius   [][]float64 // at each of the Levels
	mid      []float64   // z of the middle at each of the Levels
	fuller   float64     // how far the bust stands out more than learned, mm
	made     []madeRow
}

// A madeRow is a row of the made trunk.
type madeRow struct {
	Row
	y float64 // height above the floor, mm
}

// Of the template's neck: how far its widest place lies under the nape, the
// pit of the neck under it, and the girth of its base, mm.
const (
	neckDrop  = 27.7
	neckPit   = 62.0
	neckGirth = 394.0
)

// The neck point from the widest place of the neck's base, where the surfaces have it, on
// the template, mm. A tailor's lies behind it: of the neckline 0.41 is behind the neck
// point in drafts of handbooks (from memory: 0.40 to 0.42), on the surfaces 0.47.
const (
	neckPointBack = 8.6
	neckPointUp   = 5.6
)

// levels sets the heights of the stations and the places of shoulder and neck.
func (k *maker) levels() error {
	m := k.m
	scale := m[body.NeckBaseGirth] / neckGirth
	widest := m[body.NapeHeight] - neckDrop*scale
	k.neck = r2.Vec{X: k.trunk.Neck * scale, Y: widest + neckPointUp*scale}
	sin, cos := math.Sincos(m[body.ShoulderSlope] * math.Pi / 180)
	// The top of the shoulder slopes; the neck point lies above its line.
	up := neckPointUp * scale
	run := math.Sqrt(m[body.ShoulderLength]*m[body.ShoulderLength]-up*up*cos*cos) - up*sin
	k.shoulder = r2.Add(r2.Vec{X: k.neck.X, Y: widest}, r2.Scale(run, r2.Vec{X: cos, Y: -sin}))
	k.height = []float64{m[body.InsideLeg], m[body.HipHeight], m[body.WaistHeight], m[body.BustHeight],
		m[body.ArmpitHeight], k.shoulder.Y, widest, m[body.NapeHeight], m[body.NapeHeight] + 40}
	for i := 1; i < len(k.height); i++ {
		if k.height[i] < k.height[i-1]+5 {
			return fmt.Errorf("form: %s at %.0f mm above the floor must lie above %s at %.0f", Stations[i], k.height[i],
				Stations[i-1], k.height[i-1])
		}
	}
	return nil
}

// level returns the height of a place between stations.
func (k *maker) level(at float64) float64 {
	i := min(int(at), len(k.height)-2)
	return k.height[i] + (at-float64(i))*(k.height[i+1]-k.height[i])
}

// section sets the shape of the section at each of the Levels: the learned one,
// with the body's own girth where it is measured.
func (k *maker) section() {
	k.radius, k.mid = nil, nil
	measured := map[string]body.Name{"hip": body.HipGirth, "high_hip": body.HighHipGirth, "waist": body.WaistGirth,
		"under_bust": body.UnderBustGirth, "bust": body.BustGirth}
	for _, l := range k.model.Levels {
		girth := l.Girth.at(k.z) * k.m[body.BustGirth]
		if n, ok := measured[l.Name]; ok {
			girth = k.m[n]
		}
		r := make([]float64, Angles)
		for i := range r {
			r[i] = l.Radius[i].at(k.z)
		}
		k.bulge(l.Name, r)
		scale := girth / Girth(loopOf(r, 0))
		for i := range r {
			r[i] *= scale
		}
		if len(k.radius) > atBustLevel { // without the flesh of the arms
			side := k.radius[atBustLevel][Angles/2]
			for i := range r {
				r[i] = min(r[i], side/max(0.01, math.Sin(angle(i))))
			}
		}
		k.radius = append(k.radius, r)
		k.mid = append(k.mid, l.Middle.at(k.z)*k.m[body.Height])
	}
}

// loopOf returns the symmetrical loop of radii, from the front round the body's
// left side, (x, z).
func loopOf(radius []float64, mid float64) []r2.Vec {
	n := 2 * (Angles - 1)
	loop := make([]r2.Vec, n)
	for i := range n {
		r := radius[min(i, n-i)]
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		loop[i] = r2.Vec{X: r * sin, Y: mid + r*cos}
	}
	return loop
}

// rows sets the rows of the trunk: those of the template, each direction
// stretched so that they agree with the sections at the Levels, and above the
// armpits with shoulder and neck.
func (k *maker) rows() {
	stretch, shift := k.stretches()
	var ats []float64
	for _, r := range k.trunk.Rows {
		ats = append(ats, r.At)
	}
	k.made = nil
	stretched := func(at float64) Row {
		row := k.trunk.row(at)
		row.Middle += shift.at(at)
		for i := range row.Radius {
			row.Radius[i] *= stretch[i].at(at)
		}
		return row
	}
	hip := stretched(atHip)
	for _, at := range merge(ats, append([]float64{atNeck}, levelAt...)) {
		row := stretched(at)
		if at < atHip { // the template stands with its legs apart; the hip is the fullest place
			for i, r := range hip.Radius {
				row.Radius[i] = min(row.Radius[i], r)
			}
		}
		k.made = append(k.made, madeRow{row, k.level(at)})
	}
}

// stretches returns by how much each direction of the template's rows is
// stretched, and how far their middles move, by station.
func (k *maker) stretches() (stretch []curve, shift curve) {
	neck := k.m[body.NeckBaseGirth] / neckGirth
	shift.x = append(shift.x, levelAt...)
	for l, at := range levelAt {
		shift.y = append(shift.y, k.mid[l]-k.trunk.row(at).Middle)
	}
	for i := range Angles {
		c := curve{x: append([]float64{}, levelAt...)}
		for l, at := range levelAt {
			c.y = append(c.y, k.radius[l][i]/k.trunk.row(at).Radius[i])
		}
		// At the shoulder the sides go by its width; front and back go on as at the
		// armpits. From the side neck up all is neck.
		side := math.Pow(math.Sin(angle(i)), 2)
		last := c.y[len(c.y)-1]
		c.x = append(c.x, atShoulder, atSideNeck, atNape, atNeck)
		c.y = append(c.y, (1-side)*(last+neck)/2+side*k.shoulder.X/k.trunk.Shoulder, neck, neck, neck)
		stretch = append(stretch, c)
	}
	// The nape stands where it does in bodies of these proportions.
	nape := k.placed(0)
	row := k.trunk.row(atNape)
	shift.x = append(shift.x, atNape, atNeck)
	move := nape - (row.Middle - row.Radius[Angles-1]*neck)
	shift.y = append(shift.y, move, move)
	return stretch, shift
}

// row returns the row at a station, between two of the template's.
func (t *Trunk) row(at float64) Row {
	i := 1
	for i < len(t.Rows)-1 && t.Rows[i].At < at {
		i++
	}
	a, b := t.Rows[i-1], t.Rows[i]
	return between(a, b, (at-a.At)/(b.At-a.At))
}

// between returns the row at a share of the way from a to b, from 0 to 1.
func between(a, b Row, share float64) Row {
	share = max(0, min(1, share))
	mix := func(a, b float64) float64 { return a + share*(b-a) }
	row := Row{At: mix(a.At, b.At), Middle: mix(a.Middle, b.Middle), Radius: make([]float64, Angles)}
	for i := range row.Radius {
		row.Radius[i] = mix(a.Radius[i], b.Radius[i])
	}
	return row
}

// landmarks returns the landmarks of the made rows.
func (k *maker) landmarks() map[Landmark]r3.Vec {
	m := k.m
	on := func(y, x, side float64) r3.Vec { // on the front (side 1) or the back (-1)
		return r3.Vec{X: x, Y: y, Z: k.depth(y, x, side)}
	}
	scale := m[body.NeckBaseGirth] / neckGirth
	out, armpit := k.arm(), k.rowAt(m[body.ArmpitHeight])
	return map[Landmark]r3.Vec{
		Nape:      on(m[body.NapeHeight], 0, -1),
		FrontNeck: on(m[body.NapeHeight]-neckPit*scale, 0, 1),
		SideNeck:  {X: k.neck.X, Y: k.neck.Y, Z: k.placed(2)},
		Shoulder:  {X: k.shoulder.X, Y: k.shoulder.Y, Z: k.sideDepth(atShoulder)},
		Elbow:     out.elbow, Wrist: out.wrist,
		Armpit:           {X: armpit.Radius[Angles/2], Y: m[body.ArmpitHeight], Z: armpit.Middle},
		BustPoint:        on(m[body.BustHeight], m[body.BustPointWidth]/2, 1),
		CentreFrontWaist: on(m[body.WaistHeight], 0, 1),
		CentreBackWaist:  on(m[body.WaistHeight], 0, -1),
		Crotch:           {Y: m[body.InsideLeg], Z: k.rowAt(m[body.InsideLeg]).Middle},
	}
}

// placed returns the z of the Placed landmark i.
func (k *maker) placed(i int) float64 {
	z := k.mid[len(k.mid)-1] + k.model.Landmarks[i].at(k.z)*k.m[body.Height] - k.upright()
	if Placed[i] == SideNeck {
		z -= neckPointBack * k.m[body.NeckBaseGirth] / neckGirth
	}
	return z
}

func (k *maker) sideDepth(at float64) float64 { return k.rowAt(k.level(at)).Middle }

// rowAt returns the row at a height.
func (k *maker) rowAt(y float64) Row {
	i := 1
	for i < len(k.made)-1 && k.made[i].y < y {
		i++
	}
	a, b := k.made[i-1], k.made[i]
	return between(a.Row, b.Row, (y-a.y)/(b.y-a.y))
}

// depth returns the z of the front or back surface at a height, x from the
// middle.
func (k *maker) depth(y, x, side float64) float64 {
	row := k.rowAt(y)
	loop := loopOf(row.Radius, row.Middle)
	best := math.Inf(-1)
	for i, p := range loop {
		q := loop[(i+1)%len(loop)]
		if (p.X > x) == (q.X > x) {
			continue
		}
		best = max(best, side*(p.Y+(x-p.X)/(q.X-p.X)*(q.Y-p.Y)))
	}
	if math.IsInf(best, -1) { // beyond the side
		return row.Middle
	}
	return side * best
}
