package api

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/service"
)

func TestObjectWriter(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	o := objectWriter{w: &out}
	o.field("a", 1)
	o.list("none", func(func(any)) error { return nil })
	o.list("two", func(add func(any)) error { add("x"); add(nil); return nil })
	if err := o.end(); err != nil {
		t.Fatal(err)
	}
	if want := `{"a":1,"none":[],"two":["x",null]}`; out.String() != want {
		t.Errorf("wrote %s, want %s", out.String(), want)
	}
}

// After an error nothing more is written, so that the object never looks
// complete.
func TestObjectWriterStopsAtAnError(t *testing.T) {
	t.Parallel()
	failed := errors.New("on purpose")
	for name, fill := range map[string]func(add func(any)) error{
		"list":  func(add func(any)) error { add(1); return failed },
		"value": func(add func(any)) error { add(failing{failed}); return nil },
	} {
		var out bytes.Buffer
		o := objectWriter{w: &out}
		o.list("rows", fill)
		o.field("later", true)
		if err := o.end(); !errors.Is(err, failed) {
			t.Errorf("%s: error %v, want %v", name, err, failed)
		}
		if strings.HasSuffix(out.String(), "}") || strings.Contains(out.String(), "later") {
			t.Errorf("%s: wrote %s after the error", name, out.String())
		}
	}
}

type failing struct{ err error }

func (f failing) MarshalJSON() ([]byte, error) { return nil, f.err }

func TestAllPages(t *testing.T) {
	t.Parallel()
	last := uuid.New()
	pages := map[uuid.UUID][]int{uuid.Nil: {1, 2}, last: {3}}
	var got []int
	err := allPages(func(p service.Page) ([]int, uuid.UUID, error) {
		if p.After == uuid.Nil {
			return pages[p.After], last, nil
		}
		return pages[p.After], uuid.Nil, nil
	}, func(v int) { got = append(got, v) })
	if err != nil || len(got) != 3 || got[2] != 3 {
		t.Errorf("rows %v, %v, want 1 to 3", got, err)
	}
	failed := errors.New("on purpose")
	err = allPages(func(service.Page) ([]int, uuid.UUID, error) { return nil, last, failed }, func(int) {})
	if !errors.Is(err, failed) {
		t.Errorf("error %v, want %v", err, failed)
	}
}
