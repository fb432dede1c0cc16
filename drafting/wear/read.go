package wear

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/pattern"
)

// step is the distance of the levels at which a garment is read, mm.
const step = 20.0

// readTol is the length by which a reading may fall short, mm: the chord error of a section.
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
	inside := part.inside()
	if girth, err = inside.Girth(of, o.Stretch); err != nil {
		return nil, err
	}
	trunk, ok := o.trunk(p, girth, inside)
	if !ok {
		return nil, &OpeningError{o, fmt.Sprintf("the pieces %v have no level in common below the armhole", o.Trunk)}
	}
	return append(checks, trunk...), nil
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
			reach = t.top + crotchHangs
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
