package wear

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// step is the distance of the levels at which a garment is read, mm.
const step = 20.0

// readTol is what a reading may fall short, mm: the chord error of a section.
const readTol = 1.0

// Read reads the openings of a garment on its finished pieces. It returns
// checks that have minimums: whether the head, the shoulders and the hips, a
// hand or a foot pass, at every level between the opening and the place where
// the garment rests; whether a limb has its least ease along its whole length;
// and whether a notch marks the foot of each closing. The error is an
// *OpeningError, or a *MissingError if a measurement is unknown.
func Read(p pattern.Pattern, of Lookup, openings []Opening) ([]pattern.Check, error) {
	var checks []pattern.Check
	for _, o := range openings {
		if err := o.validate(p); err != nil {
			return nil, err
		}
		made, err := o.read(p, of)
		if err != nil {
			return nil, err
		}
		checks = append(checks, made...)
	}
	return checks, nil
}

// read reads one opening.
func (o Opening) read(p pattern.Pattern, of Lookup) ([]pattern.Check, error) {
	var checks []pattern.Check
	if place, ok := o.placeOfClosing(p); ok {
		checks = append(checks, place)
	}
	if o.limb() {
		room, ok, err := o.room(p, of)
		if err != nil {
			return nil, err
		}
		if ok {
			checks = append(checks, room)
		}
	}
	if o.wide() {
		// Recorded too, so that the opening is known to have been asked for.
		return append(checks, pattern.Check{Name: fmt.Sprintf("%s through %s", o.Passes, o.name()), AtLeast: true,
			Tolerance: readTol, Where: "open from end to end"}), nil
	}
	passes, err := o.passes(p, of)
	return append(checks, passes...), err
}

// passes returns the checks of the way into the garment that suits it best: the
// opening over the part, or, if its closing is long enough, up over the hips.
func (o Opening) passes(p pattern.Pattern, of Lookup) ([]pattern.Check, error) {
	own, err := o.way(p, of, o.Passes)
	if err != nil || o.Passes != Head || len(o.Trunk) == 0 || o.Opens == 0 || short(own) <= 0 {
		return own, err
	}
	other, err := o.way(p, of, Hips)
	if err == nil && short(other) < short(own) {
		return other, nil
	}
	return own, nil
}

// short returns the most by which a check falls short, mm.
func short(checks []pattern.Check) float64 {
	most := math.Inf(-1)
	for _, c := range checks {
		most = max(most, c.Target-c.Drafted-c.Tolerance)
	}
	return most
}

// way returns the checks of passing the ring and, below it, the trunk.
func (o Opening) way(p pattern.Pattern, of Lookup, part Part) ([]pattern.Check, error) {
	girth, err := part.Girth(of, o.Stretch)
	if err != nil {
		return nil, err
	}
	checks := []pattern.Check{{Name: fmt.Sprintf("%s through %s", part, o.name()), Target: girth, AtLeast: true,
		Drafted: o.ring(p) + 2*o.Opens, Tolerance: readTol}}
	if len(o.Trunk) == 0 {
		return checks, nil
	}
	inside := part
	if part == Head {
		inside = Shoulders
	}
	if girth, err = inside.Girth(of, o.Stretch); err != nil {
		return nil, err
	}
	trunk, ok := o.trunk(p, girth, inside)
	if !ok {
		return nil, &OpeningError{o, fmt.Sprintf("the pieces %v have no level in common below the armhole", o.Trunk)}
	}
	return append(checks, trunk), nil
}

// trunk returns the check of the level of the trunk that is narrowest for the
// part: below armholes and bust darts, down to the hem, or to the hip line if
// the garment is pulled up over the hips.
func (o Opening) trunk(p pattern.Pattern, girth float64, part Part) (pattern.Check, bool) {
	var flats []flat
	var times []float64
	top, bottom, waist := math.Inf(-1), math.Inf(1), math.NaN()
	for _, name := range o.Trunk {
		q, _ := p.Piece(name)
		f := newFlat(q, geom.Point{}, geom.Pt(0, 1))
		flats, times = append(flats, f), append(times, copies(q))
		top, bottom = max(top, f.top()), min(bottom, f.bottom())
		if y, ok := levelOf(q, "waist"); ok {
			waist = y
		}
		if y, ok := levelOf(q, "hip"); ok && part == Hips {
			bottom = min(bottom, y)
		}
	}
	if top >= bottom {
		return pattern.Check{}, false
	}
	closed := math.Inf(-1)
	if len(o.Closing) > 0 {
		closed = o.closingTop(p) + o.Opens
	} else if o.Opens > 0 {
		closed = top + o.Opens
	}
	check := pattern.Check{Name: fmt.Sprintf("%s through %s", part, strings.Join(o.Trunk, " + ")), Target: girth, Drafted: math.Inf(1),
		AtLeast: true, Tolerance: readTol}
	for _, y := range levels(top+1, bottom-1, waist) {
		around := 2 * max(0, closed-y)
		for i, f := range flats {
			around += times[i] * f.width(y)
		}
		if around < check.Drafted {
			check.Drafted, check.Where = around, levelName(y, waist, bottom)
		}
	}
	return check, true
}

// top returns the level below which the piece surrounds the trunk: below an
// armhole, or below its upper edge, and below the mouth of a dart in the side,
// above which the piece lies turned.
func (f flat) top() float64 {
	first, last, _ := f.extent(func(side) bool { return true })
	_, top, ok := f.extent(func(s side) bool { return s.role == pattern.RoleArmhole })
	if !ok {
		_, top = f.rim(first)
	}
	_, mouth, ok := f.extent(func(s side) bool {
		return s.role == pattern.RoleDartMouth && s.last().Y < last-step && !s.level()
	})
	if ok {
		top = max(top, mouth)
	}
	return top
}

// bottom returns the level where the lower end of the piece begins: the highest
// point of its hem or, without one, of its lower edge.
func (f flat) bottom() float64 {
	if begins, _, ok := f.extent(func(s side) bool { return s.role == pattern.RoleHem }); ok {
		return begins
	}
	_, last, _ := f.extent(func(side) bool { return true })
	begins, _ := f.rim(last)
	return begins
}

// rim returns the levels of the ends of the widest run that reaches a level.
func (f flat) rim(level float64) (low, high float64) {
	wide, run := 0.0, ""
	for _, s := range f.sides {
		across := math.Abs(s.first().X - s.last().X)
		reaches := math.Abs(s.first().Y-level) < 0.5 || math.Abs(s.last().Y-level) < 0.5
		if reaches && s.level() && s.role != pattern.RoleDartMouth && across > wide {
			wide, run = across, s.run
		}
	}
	low, high, ok := f.extent(func(s side) bool { return s.run == run })
	if !ok {
		return level, level
	}
	return low, high
}

// levelOf returns the height of a level line of the piece.
func levelOf(p pattern.Piece, name string) (float64, bool) {
	i := slices.IndexFunc(p.Lines, func(l pattern.Line) bool { return l.Name == name })
	if i < 0 {
		return 0, false
	}
	return p.Lines[i].Path.Start().Y, true
}

// levels returns levels a step apart, both ends, and one more.
func levels(from, to, more float64) []float64 {
	var all []float64
	for y := from; y < to; y += step {
		all = append(all, y)
	}
	all = append(all, to)
	if more > from && more < to {
		all = append(all, more)
	}
	return all
}

// levelName says where a level is.
func levelName(y, waist, bottom float64) string {
	switch d := y - waist; {
	case math.IsNaN(d):
		return fmt.Sprintf("%.0f mm above its lower edge", bottom-y)
	case math.Abs(d) < 0.5:
		return "at the waist"
	case d > 0:
		return fmt.Sprintf("%.0f mm below the waist", d)
	default:
		return fmt.Sprintf("%.0f mm above the waist", -d)
	}
}

// A tube is the part of a limb's pieces that surrounds it.
type tube struct {
	flats  []flat
	frames []frame
	from   float64 // where the hem ends, mm above its chord
	top    float64 // where the limb's seams end
	cap    float64 // the top of the sleeve; 0 if it has no cap
}

// tube returns the pieces around the limb, read square to the opening's chord.
func (o Opening) tube(p pattern.Pattern) (tube, bool) {
	t := tube{top: math.Inf(1)}
	for _, q := range p.Pieces {
		fr, ok := o.frameOf(q)
		if !ok {
			continue
		}
		f := newFlat(q, fr.origin, fr.up)
		_, high, _ := f.extent(func(s side) bool { return fr.ends[s.run] })
		t.from = max(t.from, high)
		for _, run := range [...]string{fr.left, fr.right} {
			_, end, _ := f.extent(func(s side) bool { return s.run == run })
			t.top = min(t.top, end)
		}
		if _, _, ok := f.extent(func(s side) bool { return s.role == pattern.RoleCap }); ok {
			_, high, _ := f.extent(func(side) bool { return true })
			t.cap = max(t.cap, high)
		}
		if slices.ContainsFunc(f.sides, func(s side) bool { return s.role == pattern.RoleArmhole && fr.ends[s.run] }) {
			return tube{}, false
		}
		t.flats, t.frames = append(t.flats, f), append(t.frames, fr)
	}
	return t, len(t.flats) > 0
}

// around returns the girth of the tube at a level above the opening, and false
// if the limb's seams do not bound it there or it crosses the mouth of a dart.
func (t tube) around(level float64) (float64, bool) {
	var sum float64
	for i, f := range t.flats {
		w, ok := f.between(level, t.frames[i].left, t.frames[i].right)
		if !ok || f.atMouth(level) {
			return 0, false
		}
		sum += w
	}
	return sum, true
}

// room returns the check of the level at which the limb has the least room. It
// returns false if no limb lies in the pieces and the reach is not stated.
func (o Opening) room(p pattern.Pattern, of Lookup) (pattern.Check, bool, error) {
	limb, name, least := arm, "arm", leastArmEase
	if o.Passes == Foot {
		limb, name, least = leg, "leg", leastLegEase
	}
	if o.Ease > 0 {
		least = o.Ease
	}
	t, ok := o.tube(p)
	if !ok {
		return pattern.Check{}, false, nil
	}
	reach := o.Reach
	if reach == 0 {
		if reach = t.cap; o.Passes == Foot {
			reach = t.top
		}
	}
	if reach <= 0 {
		return pattern.Check{}, false, &OpeningError{o, "the sleeve has no cap: state its reach from the shoulder point"}
	}
	girths, err := limb(of)
	if err != nil {
		return pattern.Check{}, false, err
	}
	// Worn, a knit gives half of what it gives when it is pulled on.
	stretch := 1 + o.Stretch/2
	check := pattern.Check{Name: fmt.Sprintf("room for the %s above %s", name, o.name()), AtLeast: true,
		Tolerance: readTol, Drafted: math.Inf(1)}
	add := func(level, around float64) {
		girth := girths.girth(reach - level)
		target := (girth + least) / stretch
		if around-target < check.Drafted-check.Target {
			check.Body, check.Ease, check.Target, check.Drafted = girth, target-girth, target, around
			check.Where = fmt.Sprintf("%.0f mm above the opening", level)
		}
	}
	add(0, o.ring(p))
	for level := t.from + 1; level < min(t.top, reach)-1; level += step {
		if around, ok := t.around(level); ok {
			add(level, around)
		}
	}
	if around, ok := t.around(min(t.top, reach) - 1); ok {
		add(min(t.top, reach)-1, around)
	}
	return check, true, nil
}
