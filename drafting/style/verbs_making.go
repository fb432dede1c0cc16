package style

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/pattern"
)

var makingVerbs = []Verb{
	{"Make up", `seam(a, b=None, ease=0, gather=None, how="", notches=[], double=False, same_way=False)`,
		`Two edges that are sewn together, each "piece/edge" or a list of them in the order in which they are sewn. They are equally long unless ease says by how many mm a is the longer, or gather how many times as long. how names what is done with it: "gathered", "pleated", "stretched". notches are put at mm along a, and their mates on b. A list is in the order in which its edges are met, walking along a's first edge clockwise. Without b an edge is sewn to the same edge of the other half. Seen as they are cut, right side up, two edges sewn together run against each other; same_way=True where they do not.`,
		seam},
	{"Make up", `require(condition, message, weight="refuse", about=[])`,
		`What must hold for this body and these choices. Where it does not, the order is refused with the message, or with weight="caution" drafted with the message as a caution. about names the measurements and choices to look at.`,
		require},
	{"Make up", `check(name, target, drafted, tolerance=0.5)`,
		`A measure of the finished garment: what it should be and what the pieces measure, mm. A difference over the tolerance holds the order.`,
		checkMeasure},
	{"Make up", `caution(message)`,
		`A caution handed out with this draft.`,
		cautionOf},
	{"Make up", `garment(pieces, seams, sewing, notions=[])`,
		`What a style's make returns: its pieces, its seams, the sewing order in steps, and what is needed besides cloth.`,
		garment},
}

// stated is one seam as a script states it.
type stated struct {
	pairing cutting.Pairing
	gather  float64 // a is so many times as long as b; 0 where ease says it
}

func (*stated) String() string        { return "seam" }
func (*stated) Type() string          { return "seam" }
func (*stated) Freeze()               {}
func (*stated) Truth() starlark.Bool  { return true }
func (*stated) Hash() (uint32, error) { return 0, errors.New("a seam can't be a key") }

// refs reads "piece/edge" texts.
func refs(list names) ([]pattern.EdgeRef, error) {
	var out []pattern.EdgeRef
	for _, s := range list {
		r, ok := parseRef(s)
		if !ok {
			return nil, fmt.Errorf(`seam: %q; want "piece/edge"`, s)
		}
		out = append(out, r)
	}
	return out, nil
}

func parseRef(s string) (pattern.EdgeRef, bool) {
	for i := range s {
		if s[i] == '/' {
			r := pattern.EdgeRef{Piece: s[:i], Edge: s[i+1:]}
			return r, validName(r.Piece) && validName(r.Edge)
		}
	}
	return pattern.EdgeRef{}, false
}

func seam(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var a, b names
	var ease mm
	var gather maybe
	var how string
	var notches numbers
	var double, sameWay bool
	if err := starlark.UnpackArgs("seam", args, kwargs, "a", &a, "b?", &b, "ease?", &ease, "gather?", &gather, "how?", &how, "notches?", &notches, "double?", &double, "same_way?", &sameWay); err != nil {
		return nil, err
	}
	s := &stated{pairing: cutting.Pairing{Ease: float64(ease), How: how, Notches: notches, SameWay: sameWay, Line: r.line()}}
	var err error
	if s.pairing.A, err = refs(a); err != nil {
		return nil, err
	}
	if s.pairing.B, err = refs(b); err != nil {
		return nil, err
	}
	if len(a) == 0 {
		return nil, errors.New("seam: of which edge?")
	}
	if len(b) == 0 {
		if len(a) != 1 {
			return nil, errors.New("seam: one edge is sewn to the same edge of the other half")
		}
		s.pairing.B = s.pairing.A
	}
	if double {
		s.pairing.Kind = pattern.NotchDouble
	}
	if gather.given {
		if ease != 0 || !(gather.value > 0.2 && gather.value <= 6) {
			return nil, errors.New("seam: gather from 0.2 to 6, and no ease with it")
		}
		s.gather = gather.value
	}
	if len(how) > 40 {
		return nil, errors.New("seam: how in a word or two")
	}
	return s, nil
}

// line is where in the script the verb is called.
func (r *run) line() int {
	if r.thread.CallStackDepth() < 2 {
		return 0
	}
	return int(r.thread.CallFrame(1).Pos.Line)
}

// A requirement is one that did not hold.
type requirement struct {
	message string
	refuse  bool
	about   []string
	line    int
}

func require(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var condition starlark.Value
	var message string
	weight := "refuse"
	var about names
	if err := starlark.UnpackArgs("require", args, kwargs, "condition", &condition, "message", &message, "weight?", &weight, "about?", &about); err != nil {
		return nil, err
	}
	if weight != "refuse" && weight != "caution" {
		return nil, fmt.Errorf(`require: weight=%q; "refuse" or "caution"`, weight)
	}
	if bool(condition.Truth()) {
		return starlark.None, nil
	}
	return starlark.None, r.note(requirement{message, weight == "refuse", about, r.line()})
}

func (r *run) note(q requirement) error {
	if len(q.message) > 400 || q.message == "" {
		return errors.New("a message of 1 to 400 bytes")
	}
	if len(r.requires) >= 50 {
		return errors.New("more than 50 requirements that do not hold")
	}
	r.requires = append(r.requires, q)
	return nil
}

func cautionOf(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var message string
	if err := starlark.UnpackArgs("caution", args, kwargs, "message", &message); err != nil {
		return nil, err
	}
	return starlark.None, r.note(requirement{message: message, line: r.line()})
}

func checkMeasure(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name string
	var target, drafted mm
	tolerance := mm(pattern.SeamTol)
	if err := starlark.UnpackArgs("check", args, kwargs, "name", &name, "target", &target, "drafted", &drafted, "tolerance?", &tolerance); err != nil {
		return nil, err
	}
	c := pattern.Check{Name: name, Target: float64(target), Drafted: float64(drafted), Tolerance: float64(tolerance)}
	if len(name) > 80 || len(r.checks) >= 200 {
		return nil, errors.New("check: a name of at most 80 bytes, and at most 200 checks")
	}
	if d := c.Difference(); d > c.Tolerance || -d > c.Tolerance {
		return nil, fmt.Errorf("check: %s is %.1f mm, should be %.1f", name, c.Drafted, c.Target)
	}
	r.checks = append(r.checks, c)
	return starlark.None, nil
}

// made is what make returns.
type made struct {
	pieces          []*piece
	seams           []*stated
	sewing, notions []string
}

func (*made) String() string        { return "garment" }
func (*made) Type() string          { return "garment" }
func (*made) Freeze()               {}
func (*made) Truth() starlark.Bool  { return true }
func (*made) Hash() (uint32, error) { return 0, errors.New("a garment can't be a key") }

func garment(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var pieces, seams starlark.Indexable
	var sewing, notions names
	if err := starlark.UnpackArgs("garment", args, kwargs, "pieces", &pieces, "seams", &seams, "sewing", &sewing, "notions?", &notions); err != nil {
		return nil, err
	}
	g := &made{sewing: sewing, notions: notions}
	if n := pieces.Len(); n == 0 || n > maxGarment {
		return nil, fmt.Errorf("garment: %d pieces; 1 to %d", n, maxGarment)
	}
	if n := seams.Len(); n > 4*maxGarment {
		return nil, fmt.Errorf("garment: %d seams; at most %d", n, 4*maxGarment)
	}
	for i := range pieces.Len() {
		p, ok := pieces.Index(i).(*piece)
		if !ok {
			return nil, fmt.Errorf("garment: got %s among the pieces", pieces.Index(i).Type())
		}
		g.pieces = append(g.pieces, p)
	}
	for i := range seams.Len() {
		s, ok := seams.Index(i).(*stated)
		if !ok {
			return nil, fmt.Errorf("garment: got %s among the seams", seams.Index(i).Type())
		}
		g.seams = append(g.seams, s)
	}
	if len(sewing) == 0 {
		return nil, errors.New("garment: the sewing order is empty")
	}
	return g, nil
}
