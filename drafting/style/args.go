package style

import (
	"errors"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"tapeline/drafting/geom"
)

// Types that a verb's arguments are unpacked into.

// typeError returns the error of an argument of the wrong type.
func typeError(v starlark.Value, want string) error {
	return fmt.Errorf("got %s, want %s", v.Type(), want)
}

// A number is finite and at most a million.
type number float64

func (n *number) Unpack(v starlark.Value) error {
	f, ok := starlark.AsFloat(v)
	if _, isBool := v.(starlark.Bool); isBool || !ok {
		return typeError(v, "a number")
	}
	if math.IsNaN(f) || math.Abs(f) > 1e6 {
		return fmt.Errorf("got %v, want a number from -1e6 to 1e6", v)
	}
	*n = number(f)
	return nil
}

// An optional is a number that may be None or missing.
type optional struct {
	given bool
	value float64
}

func (o *optional) Unpack(v starlark.Value) error {
	if v == starlark.None {
		return nil
	}
	o.given = true
	return (*number)(&o.value).Unpack(v)
}

// A direction is the direction in which a curve leaves or arrives: degrees
// clockwise from the right, a word, or a point as a vector.
type direction struct {
	given bool
	unit  geom.Point
}

var directionWords = map[starlark.String]geom.Point{"right": {X: 1}, "left": {X: -1}, "down": {Y: 1}, "up": {Y: -1}}

func (d *direction) Unpack(v starlark.Value) error {
	switch v := v.(type) {
	case starlark.NoneType:
		return nil
	case starlark.String:
		u, ok := directionWords[v]
		if !ok {
			return fmt.Errorf("got %s, want degrees, or right, left, up or down", v)
		}
		*d = direction{true, u}
		return nil
	case point:
		if (v == point{}) {
			return errors.New("got the vector (0, 0), want a direction")
		}
		*d = direction{true, geom.Point(v).Unit()}
		return nil
	}
	var f number
	if err := f.Unpack(v); err != nil {
		return err
	}
	*d = direction{true, geom.Polar(1, radians(float64(f)))}
	return nil
}

// names is a string or a list of strings.
type names []string

func (n *names) Unpack(v starlark.Value) error {
	if s, ok := starlark.AsString(v); ok {
		*n = names{s}
		return nil
	}
	return eachElement(v, 200, "a string or a list of at most 200 strings", func(x starlark.Value) error {
		s, ok := starlark.AsString(x)
		if !ok {
			return typeError(x, "a string in the list")
		}
		*n = append(*n, s)
		return nil
	})
}

// numbers is a list of numbers.
type numbers []float64

func (n *numbers) Unpack(v starlark.Value) error {
	return eachElement(v, 200, "a list of at most 200 numbers", func(x starlark.Value) error {
		var f number
		err := f.Unpack(x)
		*n = append(*n, float64(f))
		return err
	})
}

// points is a list of points.
type points []geom.Point

func (p *points) Unpack(v starlark.Value) error {
	return eachElement(v, maxPath, fmt.Sprintf("a list of at most %d points", maxPath), func(x starlark.Value) error {
		q, ok := x.(point)
		if !ok {
			return typeError(x, "a point in the list")
		}
		*p = append(*p, geom.Point(q))
		return nil
	})
}

// eachElement calls f for the elements of a list of at most limit.
func eachElement(v starlark.Value, limit int, want string, f func(x starlark.Value) error) error {
	list, ok := v.(starlark.Indexable)
	if !ok {
		return typeError(v, want)
	}
	if list.Len() > limit {
		return fmt.Errorf("got %d elements, want %s", list.Len(), want)
	}
	for i := range list.Len() {
		if err := f(list.Index(i)); err != nil {
			return err
		}
	}
	return nil
}
