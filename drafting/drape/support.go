package drape

import "gonum.org/v1/gonum/spatial/r3"

// support adds the force by which the body bears each point, and friction.
func (s *solver) support() {
	for i := range s.x {
		d, n := s.body(i, s.x[i])
		d -= s.opts.Standoff
		if d >= 0 {
			s.push[i], s.touch[i] = 0, false
			continue
		}
		push := -d * s.hold[i]
		s.push[i] = push
		s.f[i] = r3.Add(s.f[i], r3.Scale(push, n))
		if s.opts.Friction > 0 {
			s.rub(i, n, push)
		}
	}
}

// rub adds the friction at point i, which the body bears with a force along n. A
// point stays where it touched until the force along the surface is more than
// friction bears; then it slides.
func (s *solver) rub(i int, n r3.Vec, push float64) {
	if !s.touch[i] {
		s.touch[i], s.stuck[i] = true, s.x[i]
		return
	}
	back := r3.Sub(s.stuck[i], s.x[i])
	back = r3.Sub(back, r3.Scale(r3.Dot(back, n), n))
	pull := s.hold[i] * r3.Norm(back)
	if most := s.opts.Friction * push; pull > most {
		back = r3.Scale(most/pull, back)
		s.stuck[i] = r3.Add(s.x[i], back)
	}
	s.f[i] = r3.Add(s.f[i], r3.Scale(s.hold[i], back))
}

// meet adds the force by which points beyond the middle are pushed back by their mirror
// images. These move as the points do, so nothing rubs.
func (s *solver) meet() {
	for i := range s.x {
		if x := s.x[i].X; x > 0 {
			s.f[i].X -= x * s.hold[i]
		}
	}
}
