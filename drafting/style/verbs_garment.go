package style

import (
	"errors"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/pattern"
)

var garmentVerbs = []declaration{
	{"Make up", `seam(a sewn, b sewn=None, ease length=0, gather number=None, how text="", notches lengths=[], double ` +
		`yesno=False, same_way yesno=False) seam`,
		`Sew {a}[ to {b}][, easing in {ease}][, gathered {gather} to 1][, {how}][, with notches at {notches}][, ` +
			`{double}double][, {same_way}running the same way].`,
		`Declares that two edges are sewn together, each "piece/edge" or a list of these in sewing order. Both sides ` +
			`are equally long unless ease gives the length in mm by which a exceeds b, or gather the ratio of a to ` +
			`b. how names the way the ease is taken up: "gathered", "pleated", "stretched". notches are positions in ` +
			`mm along a; b gets the matching ones. The edges of a list are in the order met when walking clockwise ` +
			`along a's first edge. Without b, an edge is sewn to the same edge of the other half. Two sewn edges, ` +
			`seen right side up as they are cut, run in opposite directions; same_way=True if they do not.`,
		newSeam},
	{"Make up", `seams_of_lining(seams, linings table) seams`,
		`the seams of the linings {linings} as in {seams}`,
		`Returns the seams of a lining: of the seams given those whose pieces all have linings, with the linings' edges ` +
			`instead. linings is a dict of their names: {"front": "front_lining", "back": "back_lining"}. Eases, notches and ` +
			`the way of sewing are those of the shell. Declare seams that differ, such as one with an ease pleat, by ` +
			`yourself, after leaving them out of seams.`,
		seamsOfLining},
	{"Make up", `require(condition, message text, weight refuse|caution="refuse", about names=[])`,
		`Make sure that {condition}; otherwise say: {message}[ As a {weight}.][ It is about {about}.]`,
		`Declares a condition that this body and these choices must meet. If it is false, the order is refused with ` +
			`the message; with weight="caution" it is drafted, and the message is a caution. about names the ` +
			`measurements and choices concerned.`,
		require},
	{"Make up", `check(name text, target length, drafted length, tolerance length=0.5)`,
		`Check the {name}: it should be {target}, and is {drafted}[, within {tolerance}].`,
		`Records a measure of the finished garment: the target and the drafted length in mm. A difference over the ` +
			`tolerance holds the order.`,
		addCheck},
	{"Make up", `caution(message text)`,
		`Warn: {message}`,
		`Adds a caution to this draft.`,
		caution},
	{"Make up", `garment(pieces, seams, sewing texts, notions texts=[]) garment`,
		`The garment is made of {pieces}, joined by {seams}, sewn in the order {sewing}[, with {notions}].`,
		`Returns the garment, as make must: its pieces, its seams, the sewing order step by step, and its notions.`,
		newGarment},
}

// A seam is one seam as a script declares it.
type seam struct {
	pairing cutting.Pairing
	gather  float64 // ratio of a to b; 0 if ease gives the difference
}

func (*seam) String() string        { return "seam" }
func (*seam) Type() string          { return "seam" }
func (*seam) Freeze()               {}
func (*seam) Truth() starlark.Bool  { return true }
func (*seam) Hash() (uint32, error) { return 0, errUnhashable("seam") }

// edgeRefs parses "piece/edge" strings.
func (c *call) edgeRefs(list names) ([]pattern.EdgeRef, error) {
	refs := make([]pattern.EdgeRef, len(list))
	for i, s := range list {
		piece, edge, found := strings.Cut(s, "/")
		if !found || checkName(piece) != nil || checkName(edge) != nil {
			return nil, c.errorf(`%q; want "piece/edge"`, s)
		}
		refs[i] = pattern.EdgeRef{Piece: piece, Edge: edge}
	}
	return refs, nil
}

func newSeam(c *call) (starlark.Value, error) {
	s := &seam{pairing: cutting.Pairing{Line: c.line()}}
	var a, b names
	var gather optional
	var notches numbers
	var double bool
	err := c.unpack(&a, &b, &s.pairing.Ease, &gather, &s.pairing.How, &notches, &double, &s.pairing.SameWay)
	if err != nil {
		return nil, err
	}
	s.pairing.Notches = notches
	if s.pairing.A, err = c.edgeRefs(a); err != nil {
		return nil, err
	}
	if s.pairing.B, err = c.edgeRefs(b); err != nil {
		return nil, err
	}
	if len(a) == 0 {
		return nil, c.errorf("no edge given")
	}
	if len(b) == 0 {
		if len(a) != 1 {
			return nil, c.errorf("%d edges and no b; only one edge can be sewn to the same edge of the other half", len(a))
		}
		s.pairing.B = s.pairing.A
	}
	if double {
		s.pairing.Kind = pattern.NotchDouble
	}
	if gather.given {
		if s.pairing.Ease != 0 {
			return nil, c.errorf("want either ease or gather")
		}
		if !(gather.value > 0.2 && gather.value <= 6) {
			return nil, c.errorf("gather=%g; want 0.2 to 6", gather.value)
		}
		s.gather = gather.value
	}
	if len(s.pairing.How) > 40 {
		return nil, c.errorf("how: %d bytes; at most 40", len(s.pairing.How))
	}
	return s, nil
}

func seamsOfLining(c *call) (starlark.Value, error) {
	var seams starlark.Indexable
	var linings *starlark.Dict
	if err := c.unpack(&seams, &linings); err != nil {
		return nil, err
	}
	if seams.Len() > pattern.MaxSeams || linings.Len() > pattern.MaxPieces {
		return nil, c.errorf("%d seams and %d linings; at most %d and %d", seams.Len(), linings.Len(), pattern.MaxSeams,
			pattern.MaxPieces)
	}
	all, err := elements[*seam](seams)
	if err != nil {
		return nil, c.errorf("seams: %w", err)
	}
	names := map[string]string{}
	for _, kv := range linings.Items() {
		shell, okShell := starlark.AsString(kv[0])
		lined, okLined := starlark.AsString(kv[1])
		if !okShell || !okLined || checkName(shell) != nil || checkName(lined) != nil {
			return nil, c.errorf("linings: %v: %v; want names of pieces", kv[0], kv[1])
		}
		names[shell] = lined
	}
	var made []starlark.Value
	for _, s := range all {
		a, okA := inLining(s.pairing.A, names)
		b, okB := inLining(s.pairing.B, names)
		if !okA || !okB {
			continue
		}
		lined := *s
		lined.pairing.A, lined.pairing.B, lined.pairing.Line = a, b, c.line()
		made = append(made, &lined)
	}
	return starlark.NewList(made), nil
}

// inLining returns the edges of linings for those of their shells, and whether all of these have one.
func inLining(edges []pattern.EdgeRef, linings map[string]string) ([]pattern.EdgeRef, bool) {
	lined := make([]pattern.EdgeRef, len(edges))
	for i, e := range edges {
		name, ok := linings[e.Piece]
		if !ok {
			return nil, false
		}
		lined[i] = pattern.EdgeRef{Piece: name, Edge: e.Edge}
	}
	return lined, true
}

// line returns the line of the script that calls the verb.
func (r *run) line() int {
	if r.thread.CallStackDepth() < 2 {
		return 0
	}
	return int(r.thread.CallFrame(1).Pos.Line)
}

// A requirement is a condition that this draft does not meet, or a caution.
type requirement struct {
	message string
	refuse  bool
	about   []string
}

func require(c *call) (starlark.Value, error) {
	var condition starlark.Value
	var q requirement
	weight := "refuse"
	var about names
	err := c.unpack(&condition, &q.message, &weight, &about)
	if err != nil {
		return nil, err
	}
	if weight != "refuse" && weight != "caution" {
		return nil, c.errorf(`weight=%q; want "refuse" or "caution"`, weight)
	}
	if condition.Truth() {
		return starlark.None, nil
	}
	q.refuse, q.about = weight == "refuse", about
	return starlark.None, c.addRequirement(q)
}

func (c *call) addRequirement(q requirement) error {
	if len(q.message) > 400 || q.message == "" {
		return c.errorf("a message of %d bytes; want 1 to 400", len(q.message))
	}
	if len(c.requires) >= 50 {
		return c.errorf("more than 50 requirements are not met")
	}
	c.requires = append(c.requires, q)
	return nil
}

func caution(c *call) (starlark.Value, error) {
	var q requirement
	if err := c.unpack(&q.message); err != nil {
		return nil, err
	}
	return starlark.None, c.addRequirement(q)
}

func addCheck(c *call) (starlark.Value, error) {
	check := pattern.Check{Tolerance: pattern.SeamTol}
	err := c.unpack(&check.Name, &check.Target, &check.Drafted, &check.Tolerance)
	if err != nil {
		return nil, err
	}
	if len(check.Name) > 80 || len(c.checks) >= 200 {
		return nil, c.errorf("want a name of at most 80 bytes, and at most 200 checks")
	}
	if d := check.Difference(); d > check.Tolerance || -d > check.Tolerance {
		return nil, c.errorf("%s is %.1f mm, should be %.1f", check.Name, check.Drafted, check.Target)
	}
	c.checks = append(c.checks, check)
	return starlark.None, nil
}

// A garment is the result of a script's make.
type garment struct {
	pieces          []*piece
	seams           []*seam
	sewing, notions []string
}

func (*garment) String() string        { return "garment" }
func (*garment) Type() string          { return "garment" }
func (*garment) Freeze()               {}
func (*garment) Truth() starlark.Bool  { return true }
func (*garment) Hash() (uint32, error) { return 0, errUnhashable("garment") }

func newGarment(c *call) (starlark.Value, error) {
	var pieces, seams starlark.Indexable
	var sewing, notions names
	if err := c.unpack(&pieces, &seams, &sewing, &notions); err != nil {
		return nil, err
	}
	if n := pieces.Len(); n == 0 || n > pattern.MaxPieces {
		return nil, c.errorf("%d pieces; want 1 to %d", n, pattern.MaxPieces)
	}
	if n := seams.Len(); n > pattern.MaxSeams {
		return nil, c.errorf("%d seams; at most %d", n, pattern.MaxSeams)
	}
	if len(sewing) == 0 {
		return nil, c.errorf("the sewing order is empty")
	}
	g := &garment{sewing: sewing, notions: notions}
	var err error
	if g.pieces, err = elements[*piece](pieces); err != nil {
		return nil, c.errorf("pieces: %w", err)
	}
	if g.seams, err = elements[*seam](seams); err != nil {
		return nil, c.errorf("seams: %w", err)
	}
	return g, nil
}

// elements returns the elements of a list, which must all be of type T.
func elements[T starlark.Value](list starlark.Indexable) ([]T, error) {
	all := make([]T, list.Len())
	for i := range all {
		v, ok := list.Index(i).(T)
		if !ok {
			return nil, typeError(list.Index(i), "a "+v.Type())
		}
		all[i] = v
	}
	return all, nil
}

// errUnhashable returns the error of a value used as a dict's key.
func errUnhashable(kind string) error { return errors.New("a " + kind + " can't be a key") }

// checkName returns an error unless a name is of lower case letters, digits
// and _, a letter first, and at most 40 bytes long: orders name choices, and
// requirements name edges.
func checkName(name string) error {
	ok := name != "" && len(name) <= 40
	for i, c := range name {
		ok = ok && (c >= 'a' && c <= 'z' || i > 0 && (c == '_' || c >= '0' && c <= '9'))
	}
	if !ok {
		return fmt.Errorf("the name %q: want lower case letters, digits and _, a letter first, at most 40", name)
	}
	return nil
}
