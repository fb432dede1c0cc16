package drape

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/cost"
)

// A Body carries the cloth. For point i of the mesh, at p, it returns the distance
// outside the surface, mm, negative inside, and its gradient, which points away from the surface.
type Body func(i int, p r3.Vec) (float64, r3.Vec)

// Options say how cloth settles. The zero value stands for the defaults.
type Options struct {
	// Residual is the unbalanced force over the load, both as root mean squares,
	// at which the cloth is at rest. Default: 0.01.
	Residual float64
	// Steps is the most that are taken. Default: 20,000.
	Steps int
	// Friction is the coefficient of friction on the body. Default: 0.
	Friction float64
	// OfWeight is the unbalanced force over the weight alone at which cloth is at rest: cloth that
	// tension presses on the body with many times its weight may slide with a small residual.
	// Default: any.
	OfWeight float64
	// Still is how far points may move between two looks when the cloth is at rest, mm as
	// root mean square: cloth that tension presses on the body may creep with a small
	// residual. Default: any distance.
	Still float64
	// Standoff is the distance of the cloth's middle from the body, mm.
	Standoff float64
	// Progress is called now and then with the steps taken and the residual.
	Progress func(steps int, residual float64)
}

// A Rest is how the cloth came to rest.
type Rest struct {
	Settled  bool
	Residual float64 // unbalanced force over load
	Steps    int
}

// ErrLost is the error of Settle when the cloth leaves all bounds.
var ErrLost = errors.New("drape: the cloth does not stay on the body")

// Settle moves the points of the mesh until the cloth is at rest on the body,
// which may be nil, or until the steps are used up: then Settled is false. It
// returns an error when the context ends or the mesh is not usable.
func Settle(ctx context.Context, m *Mesh, b Body, o Options) (Rest, error) {
	if o.Residual == 0 {
		o.Residual = 0.01
	}
	if o.OfWeight == 0 {
		o.OfWeight = math.Inf(1)
	}
	if o.Steps == 0 {
		o.Steps = 20_000
	}
	s, err := newSolver(m, b, o)
	if err != nil {
		return Rest{}, err
	}
	return s.run(ctx)
}

const (
	lookEvery    = 50   // steps between two looks at the residual
	wayEvery     = 5    // steps between two looks at the context, which make way for other work
	weighAlways  = 200  // steps of a stage in which the masses are fitted to the stretched cloth each time
	weighEvery   = 10   // steps between two fits afterwards
	farthest     = 10e3 // mm from the origin where cloth counts as lost
	farthestStep = 3.0  // mm: most that a point moves in a step
)

type solver struct {
	mesh   *Mesh
	body   Body
	opts   Options
	tris   []membrane
	stiff  []membrane // at full stiffness
	folds  []hinge
	load   []float64 // weight of each point, mN
	mass   []float64
	hold   []float64 // stiffness of the body's support at each point, N/m
	firm   []float64 // the same at full stiffness
	x      []r3.Vec  // positions
	v, f   []r3.Vec
	before []r3.Vec // the forces of the step before
	damp   float64
	push   []float64 // support of the body at each point, mN
	stuck  []r3.Vec  // where a point touches the body without sliding
	touch  []bool
	seen   []r3.Vec // positions at the last look
}

func newSolver(m *Mesh, b Body, o Options) (*solver, error) {
	n := len(m.Points)
	s := &solver{mesh: m, body: b, opts: o,
		load: make([]float64, n), mass: make([]float64, n), hold: make([]float64, n), firm: make([]float64, n),
		x: m.Points, v: make([]r3.Vec, n), f: make([]r3.Vec, n), before: make([]r3.Vec, n),
		push: make([]float64, n), stuck: make([]r3.Vec, n), touch: make([]bool, n), seen: slices.Clone(m.Points)}
	for i, t := range m.Triangles {
		if t.Piece < 0 || t.Piece >= len(m.Cloths) {
			return nil, fmt.Errorf("drape: triangle %d: no piece %d", i, t.Piece)
		}
		area := t.Area()
		if !(area > 1e-6) {
			return nil, fmt.Errorf("drape: triangle %d: area %g mm2; it must be wound counterclockwise", i, area)
		}
		c := m.Cloths[t.Piece]
		for _, p := range t.Points {
			if p < 0 || p >= n {
				return nil, fmt.Errorf("drape: triangle %d: no point %d", i, p)
			}
			s.load[p] += t.weight(c) / 3
			// Support as stiff as the cloth about the point.
			s.firm[p] += max(1, t.Layers) * max(c.Warp, c.Weft) / 3
		}
		s.tris = append(s.tris, newMembrane(t, c))
	}
	s.folds = hinges(m)
	s.stiff = slices.Clone(s.tris)
	return s, nil
}

// weigh gives each point a mass with which steps of one unit of time are stable: a
// quarter of the stiffness about it, and a tenth more. The bound of the stiffness of
// triangles is high; less than half of it is found in meshes (power iteration).
func (s *solver) weigh() {
	clear(s.mass)
	for i := range s.tris {
		s.tris[i].stiffness(s.x, s.mass)
	}
	for i := range s.mass {
		s.mass[i] *= found
	}
	for i := range s.folds {
		s.folds[i].stiffness(s.mass)
	}
	for i := range s.mass {
		if s.body != nil || s.mesh.Half {
			s.mass[i] += s.hold[i]
		}
		s.mass[i] = 0.275*s.mass[i] + 1e-12
	}
}

// run settles the cloth in stages, the first with cloth that stretches easily: it
// falls into its folds in far fewer steps than stiff cloth.
func (s *solver) run(ctx context.Context) (rest Rest, err error) {
	stages := s.stages()
	for i, share := range stages {
		s.soften(share)
		enough, light := s.opts.Residual, s.opts.OfWeight
		if i < len(stages)-1 {
			enough, light = max(enough, roughly), math.Inf(1)
		}
		steps, err := s.stage(ctx, enough, light, (s.opts.Steps-rest.Steps)/(len(stages)-i), &rest)
		if err != nil {
			return Rest{}, err
		}
		rest.Steps += steps
	}
	return rest, nil
}

// stages returns the share of the stiffness in tension at each stage: cloth is softened
// to 36 and to 240 N/m, softer than any woven cloth, and no softer cloth is.
func (s *solver) stages() []float64 {
	softest := math.Inf(1)
	for _, c := range s.mesh.Cloths {
		softest = min(softest, c.Warp, c.Weft)
	}
	var shares []float64
	for _, stiffness := range []float64{36, 240} {
		if stiffness < softest {
			shares = append(shares, stiffness/softest)
		}
	}
	return append(shares, 1)
}

// roughly is the residual at which one stage gives way to the next.
const roughly = 0.02

// found is the share of the bound of a triangle's stiffness that counts.
const found = 0.45

// soften sets the stiffness in tension and that of the support to a share of their own,
// and the masses that go with them.
func (s *solver) soften(share float64) {
	copy(s.tris, s.stiff)
	for i := range s.tris {
		t := &s.tris[i]
		t.weft, t.warp, t.cross, t.shear = share*t.weft, share*t.warp, share*t.cross, share*t.shear
	}
	for i, k := range s.firm {
		s.hold[i] = share * k
	}
	s.weigh()
	clear(s.v)
}

// stage moves the points until what is unbalanced is small enough, over the load and over the
// weight, or the steps are used up, and returns the steps taken.
func (s *solver) stage(ctx context.Context, enough, light float64, most int, rest *Rest) (steps int, err error) {
	for steps = 1; ; steps++ {
		copy(s.before, s.f)
		s.forces()
		if steps%wayEvery == 0 {
			if err := cost.Step(ctx); err != nil {
				return steps, err
			}
		}
		if steps%lookEvery == 0 || steps >= most {
			var ofWeight float64
			rest.Residual, ofWeight = s.residual()
			if math.IsNaN(rest.Residual) || s.lost() {
				return steps, ErrLost
			}
			if s.opts.Progress != nil {
				s.opts.Progress(rest.Steps+steps, rest.Residual)
			}
			still := s.still()
			if rest.Settled = rest.Residual <= enough && ofWeight <= light && still; rest.Settled || steps >= most {
				return steps, nil
			}
		}
		if steps < weighAlways || steps%weighEvery == 0 {
			s.weigh()
		}
		s.step(s.damping())
	}
}

// damping returns the share of their speed that the points lose in the next
// step: what damps the motion of the moment without swinging. Its frequency is
// Rayleigh's quotient of the change of forces (Underwood 1983, Dynamic relaxation).
func (s *solver) damping() float64 {
	const most, smooth = 0.3, 0.02
	var stiff, mass float64
	for i, v := range s.v {
		stiff += v.X*(s.before[i].X-s.f[i].X) + v.Y*(s.before[i].Y-s.f[i].Y) + v.Z*(s.before[i].Z-s.f[i].Z)
		mass += s.mass[i] * r3.Norm2(v)
	}
	c := 0.0
	if stiff > 0 && mass > 0 {
		c = min(most, 2*math.Sqrt(stiff/mass))
	}
	s.damp += smooth * (c - s.damp)
	return s.damp
}

// step moves the points by the forces.
func (s *solver) step(c float64) {
	keep, gain := (2-c)/(2+c), 2/(2+c)
	for i := range s.x {
		a := gain / s.mass[i]
		v := r3.Vec{X: keep*s.v[i].X + a*s.f[i].X, Y: keep*s.v[i].Y + a*s.f[i].Y, Z: keep*s.v[i].Z + a*s.f[i].Z}
		if r3.Norm2(v) > farthestStep*farthestStep {
			v = r3.Scale(farthestStep/r3.Norm(v), v)
		}
		s.v[i] = v
		s.x[i].X += v.X
		s.x[i].Y += v.Y
		s.x[i].Z += v.Z
	}
}

// forces sets the force on each point.
func (s *solver) forces() {
	for i := range s.f {
		s.f[i] = r3.Vec{Y: -s.load[i]}
	}
	for i := range s.tris {
		s.tris[i].force(s.x, s.f)
	}
	for i := range s.folds {
		s.folds[i].force(s.x, s.f)
	}
	if s.body != nil {
		s.support()
	}
	if s.mesh.Half {
		s.meet()
	}
	for _, g := range s.mesh.Grips {
		back := s.hold[g.Point] * (g.Z - s.x[g.Point].Z)
		s.f[g.Point].Z += max(-g.Most, min(g.Most, back))
	}
	for i, pinned := range s.mesh.Pinned {
		if pinned {
			s.f[i] = r3.Vec{}
		}
	}
	for i, held := range s.mesh.OnPlane {
		if held {
			s.f[i].X = 0
		}
	}
	for i, hung := range s.mesh.Hung {
		if hung {
			s.f[i].Y = 0
		}
	}
}

// residual returns the unbalanced force over the load, which is weight and what the body
// bears, and over the weight alone.
func (s *solver) residual() (ofLoad, ofWeight float64) {
	var unbalanced, weight, push float64
	for i := range s.f {
		unbalanced += r3.Norm2(s.f[i])
		weight += s.load[i] * s.load[i]
		push += s.push[i] * s.push[i]
	}
	return math.Sqrt(unbalanced / (weight + push)), math.Sqrt(unbalanced / weight)
}

// still reports whether the points have hardly moved since the last look.
func (s *solver) still() bool {
	if s.opts.Still == 0 {
		return true
	}
	moved := 0.0
	for i, p := range s.x {
		moved += r3.Norm2(r3.Sub(p, s.seen[i]))
	}
	copy(s.seen, s.x)
	return math.Sqrt(moved/float64(len(s.x))) <= s.opts.Still
}

func (s *solver) lost() bool {
	for _, p := range s.x {
		if !(r3.Norm2(p) < farthest*farthest) {
			return true
		}
	}
	return false
}
