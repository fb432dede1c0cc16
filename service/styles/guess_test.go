package styles

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/sentence"
	"tapeline/service"
)

// blankNamed returns the n-th blank of a parameter in the sentences of a verb.
func blankNamed(t *testing.T, script, verb, param string, n int) Blank {
	t.Helper()
	read, p := ReadSentences(script, body.Centimetre)
	if p != nil {
		t.Fatal(p)
	}
	var found []Blank
	eachSentence(read, func(x Sentence) {
		for _, part := range x.Parts {
			if part.Blank != nil && x.Verb == verb && part.Blank.Param == param {
				found = append(found, *part.Blank)
			}
		}
	})
	if n >= len(found) {
		t.Fatalf("%s has %d blanks %s", verb, len(found), param)
	}
	return found[n]
}

func numberOf(mm float64) Value { return Value{Form: sentence.Number, Number: mm} }

// A guess returns the pieces that an edit changes, and no others; one that cannot be
// made says why.
func TestGuess(t *testing.T) {
	t.Parallel()
	s := trying()
	trial := Trial{Script: Template()}
	back := blankNamed(t, Template(), "drop", "neighbour", 2) // centre_back
	guess := func(v Value) Guessed {
		g, err := s.Guess(t.Context(), service.Caller{}, trial, Edit{Act: SetBlank, At: back.Span, Value: v})
		if err != nil {
			t.Fatal(err)
		}
		return g
	}
	g := guess(numberOf(30))
	// The front's neckline runs on from the back's, and is trued with it.
	if len(g.Pieces) != 2 || g.Pieces[1].Name != "back" || g.Pieces[1].New || !strings.HasPrefix(g.Pieces[1].Path, "M") {
		t.Errorf("got %+v", g)
	}
	hem := blankNamed(t, Template(), "allow", "edge", 0)
	g, err := s.Guess(t.Context(), service.Caller{}, trial, Edit{Act: SetBlank, At: hem.Span, Value: numberOf(15)})
	if err != nil || g.Problem != nil || len(g.Pieces) != 0 {
		t.Errorf("an allowance moves the seam line: %+v, %v", g, err)
	}
	if g = guess(numberOf(back.Value.Number)); len(g.Pieces) != 0 || g.Problem != nil {
		t.Errorf("the same number changes %+v", g)
	}
	for _, v := range []Value{numberOf(5000), {Form: sentence.Variable, Word: "nothing"}, numberOf(math.NaN())} {
		if g = guess(v); g.Problem == nil || g.Pieces != nil {
			t.Errorf("%v: got %+v", v, g)
		}
	}
	trial.Script = "style("
	if g = guess(numberOf(30)); g.Problem == nil || g.Problem.Line != 1 {
		t.Errorf("got %+v", g.Problem)
	}
}

// The handle of a neckline's depth at the centre is there, and goes down with it. A
// number that moves nothing has none.
func TestHandle(t *testing.T) {
	t.Parallel()
	s := trying()
	trial := Trial{Script: Template()}
	depth := blankNamed(t, Template(), "drop", "neighbour", 2)
	h, p, err := s.Handle(t.Context(), service.Caller{}, trial, depth.Span)
	if err != nil || p != nil || h == nil {
		t.Fatal(h, p, err)
	}
	if h.Piece != "back" || h.Length != 20 || math.Abs(h.Per.X) > 1e-3 || math.Abs(h.Per.Y-1) > 1e-3 {
		t.Errorf("got %+v", h)
	}
	drafted, err := s.draftScript(t.Context(), trial, trial.Script)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range drafted.Pieces {
		if neck := q.Run("neckline"); q.Name == "back" && neck.Start().Dist(h.At) > 0.01 && neck.End().Dist(h.At) > 0.01 {
			t.Errorf("the handle is at %v, the neckline goes from %v to %v", h.At, neck.Start(), neck.End())
		}
	}
	for _, b := range []Blank{
		blankNamed(t, Template(), "allow", "edge", 0),     // an allowance moves nothing on the seam line
		blankNamed(t, Template(), "drop", "neighbour", 0), // the customer's choice
		blankNamed(t, Template(), "drop", "edge", 0),
		{},
	} {
		if h, _, err := s.Handle(t.Context(), service.Caller{}, trial, b.Span); h != nil || err != nil {
			t.Errorf("%s: got %+v, %v", b.Param, h, err)
		}
	}
}

// Two sides that are no longer equal are made equal by a number, or the seam between them
// takes the difference; each way drafts, and does what it says.
func TestMakeEqual(t *testing.T) {
	t.Parallel()
	s := trying()
	script := strings.Replace(Template(), "centre_back = 20, shoulder = 40", "centre_back = 20, shoulder = 34", 1)
	trial := Trial{Script: script}
	c, err := s.Compare(t.Context(), service.Caller{}, trial, EdgeName{"back", "shoulder"}, EdgeName{"front", "shoulder"})
	if err != nil || c.Problem != nil {
		t.Fatal(c.Problem, err)
	}
	if math.Abs(c.Difference()-6) > 0.5 || c.Equal() {
		t.Errorf("the shoulders differ by %g", c.Difference())
	}
	numbers, eased := 0, 0
	for _, w := range c.Ways {
		t.Logf("%s left %.2f on %q, fails on %v", w.Said, w.Left, w.On, w.Fails)
		changed, p, err := s.ChangeSentences(t.Context(), service.Caller{}, script, w.Edit)
		if err != nil || p != nil {
			t.Fatal(w.Said, p, err)
		}
		trial.Script = changed
		again, err := s.Compare(t.Context(), service.Caller{}, trial, c.A, c.B)
		if err != nil || again.Problem != nil {
			t.Fatal(w.Said, again.Problem, err)
		}
		if w.Eased {
			eased++
		} else {
			numbers++
			if !again.Equal() {
				t.Errorf("%s: the difference is still %g", w.Said, again.Difference())
			}
		}
		if tried, err := s.Try(t.Context(), service.Caller{}, trial); err != nil || tried.Problem != nil {
			t.Errorf("%s: %+v, %v", w.Said, tried.Problem, err)
		}
	}
	if numbers < 2 || eased != 2 {
		t.Errorf("%d numbers and %d seams", numbers, eased)
	}
	if c, _ = s.Compare(t.Context(), service.Caller{}, trial, c.A, EdgeName{"front", "toe"}); c.Problem == nil {
		t.Errorf("an edge that is not there: %+v", c)
	}
}
