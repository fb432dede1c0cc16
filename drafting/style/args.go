package style

import (
	"errors"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"tapeline/drafting/geom"
)

// Types that a verb's arguments are unpacked into.

// mm is a finite number.
type mm float64

func (m *mm) Unpack(v starlark.Value) error {
	if _, ok := v.(starlark.Bool); ok {
		return errors.New("got yes or no, want a number")
	}
	f, ok := starlark.AsFloat(v)
	if !ok {
		return fmt.Errorf("got %s, want a number", v.Type())
	}
	if math.IsNaN(f) || math.Abs(f) > 1e6 {
		return fmt.Errorf("got %v, want a number of ordinary size", v)
	}
	*m = mm(f)
	return nil
}

// maybe is a number that may be left out.
type maybe struct {
	given bool
	value float64
}

func (m *maybe) Unpack(v starlark.Value) error {
	if v == starlark.None {
		return nil
	}
	var f mm
	if err := f.Unpack(v); err != nil {
		return err
	}
	*m = maybe{true, float64(f)}
	return nil
}

// direction is where a curve leaves or arrives: degrees clockwise from the
// right, or a word.
type direction struct {
	given bool
	unit  geom.Point
}

func (d *direction) Unpack(v starlark.Value) error {
	switch v := v.(type) {
	case starlark.NoneType:
		return nil
	case starlark.String:
		u, ok := map[string]geom.Point{"right": {X: 1}, "left": {X: -1}, "down": {Y: 1}, "up": {Y: -1}}[string(v)]
		if !ok {
			return fmt.Errorf("got %s, want degrees, or right, left, up or down", v)
		}
		*d = direction{true, u}
		return nil
	case point:
		if (v == point{}) {
			return errors.New("got a step of no length, want a direction")
		}
		*d = direction{true, geom.Point(v).Unit()}
		return nil
	}
	var f mm
	if err := f.Unpack(v); err != nil {
		return err
	}
	*d = direction{true, geom.Polar(1, radians(float64(f)))}
	return nil
}

// names is one text or a list of them.
type names []string

func (n *names) Unpack(v starlark.Value) error {
	if s, ok := starlark.AsString(v); ok {
		*n = names{s}
		return nil
	}
	list, ok := v.(starlark.Indexable)
	if !ok {
		return fmt.Errorf("got %s, want a text or a list of texts", v.Type())
	}
	if list.Len() > 200 {
		return fmt.Errorf("got %d texts, want at most 200", list.Len())
	}
	for i := range list.Len() {
		s, ok := starlark.AsString(list.Index(i))
		if !ok {
			return fmt.Errorf("got %s in the list, want texts", list.Index(i).Type())
		}
		*n = append(*n, s)
	}
	return nil
}

// numbers is a list of numbers.
type numbers []float64

func (n *numbers) Unpack(v starlark.Value) error {
	list, ok := v.(starlark.Indexable)
	if !ok || list.Len() > 200 {
		return fmt.Errorf("got %s, want a list of at most 200 numbers", v.Type())
	}
	for i := range list.Len() {
		var f mm
		if err := f.Unpack(list.Index(i)); err != nil {
			return err
		}
		*n = append(*n, float64(f))
	}
	return nil
}

// points is a list of points.
type points []geom.Point

func (p *points) Unpack(v starlark.Value) error {
	list, ok := v.(starlark.Indexable)
	if !ok || list.Len() > maxPath {
		return fmt.Errorf("got %s, want a list of points", v.Type())
	}
	for i := range list.Len() {
		q, ok := list.Index(i).(point)
		if !ok {
			return fmt.Errorf("got %s in the list, want points", list.Index(i).Type())
		}
		*p = append(*p, geom.Point(q))
	}
	return nil
}

// spot is a place on a piece's outline: (edge, mm along it).
type spot struct {
	edge string
	at   float64
}

func (s *spot) Unpack(v starlark.Value) error {
	t, ok := v.(starlark.Tuple)
	if !ok || len(t) != 2 {
		return fmt.Errorf(`got %s, want ("edge", mm)`, v.Type())
	}
	name, ok := starlark.AsString(t[0])
	if !ok {
		return fmt.Errorf(`got %s, want ("edge", mm)`, t[0].Type())
	}
	var f mm
	if err := f.Unpack(t[1]); err != nil {
		return err
	}
	*s = spot{name, float64(f)}
	return nil
}

// each goes through keyword arguments that are numbers by name.
func each(kwargs []starlark.Tuple, f func(name string, v float64) error) error {
	for _, kv := range kwargs {
		name, _ := starlark.AsString(kv[0])
		var v mm
		if err := v.Unpack(kv[1]); err != nil {
			return fmt.Errorf("for parameter %s: %w", name, err)
		}
		if err := f(name, float64(v)); err != nil {
			return err
		}
	}
	return nil
}
