package cutting

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A Pairing states which edges are sewn together: a chain of edges A to a chain
// of edges B, each in the order of sewing.
type Pairing struct {
	A, B    []pattern.EdgeRef // by run of loose pieces
	Ease    float64           // length of A less that of B, mm
	How     string            // eased, gathered, pleated, stretched; "" for little or no ease
	Back    bool              // A is walked backwards, against the outline
	SameWay bool              // B is walked the same way as A, as for a piece sewn to one it lies on
	Notches []float64         // to add, mm along A; a negative one from its end
	Kind    pattern.NotchKind // of the added notches; "" for single
	Line    int               // of the script that states it, for the error
}

// A PairingError says why two chains of edges can't be sewn together.
type PairingError struct {
	Pairing Pairing
	Reason  string
}

func (e *PairingError) Error() string {
	return fmt.Sprintf("seam %s to %s: %s", chainName(e.Pairing.A), chainName(e.Pairing.B), e.Reason)
}

func chainName(refs []pattern.EdgeRef) string {
	name := ""
	for i, r := range refs {
		if i > 0 {
			name += " + "
		}
		name += r.String()
	}
	return name
}

// Assemble sews loose pieces together on paper. It gives each notch a mate,
// cuts every edge where its partner is cut, states the seams part to part, and
// trues the edges that run on over the ends of seams.
// The pieces come back numbered. The errors are *PairingError, one for each
// pairing that fails.
func Assemble(pieces []pattern.Piece, pairings []Pairing) ([]pattern.Piece, []pattern.Seam, []error) {
	a := assembly{pieces: slices.Clone(pieces), pairings: pairings, cuts: make([]map[string][]float64, len(pieces)),
		notches: make([][]pattern.Notch, len(pieces))}
	for i, p := range pieces {
		a.cuts[i] = map[string][]float64{}
		a.notches[i] = slices.Clone(p.Notches)
		for _, run := range p.Runs() {
			a.cuts[i][run] = breaks(p, run)
		}
	}
	var errs []error
	a.joins = make([]*join, len(pairings))
	for i, pair := range pairings {
		j, err := a.join(pair)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		a.joins[i] = j
	}
	if len(errs) > 0 {
		return nil, nil, errs
	}
	// A cut carried over a seam may have to be carried on over the next.
	for range len(pairings) + 1 {
		if !a.carryCuts() {
			break
		}
	}
	return a.finish()
}

type assembly struct {
	pieces   []pattern.Piece
	pairings []Pairing
	joins    []*join
	cuts     []map[string][]float64 // by piece and run: mm along it, sorted
	notches  [][]pattern.Notch
}

// link is an edge of a chain: a run of a piece, walked backwards or not.
type link struct {
	piece  int
	run    string
	back   bool
	from   float64 // mm along the chain
	length float64
}

// toRun converts mm along the chain to mm along the run.
func (l link) toRun(d float64) float64 {
	if l.back {
		return l.length - (d - l.from)
	}
	return d - l.from
}

// toChain converts mm along the run to mm along the chain.
func (l link) toChain(d float64) float64 {
	if l.back {
		return l.from + l.length - d
	}
	return l.from + d
}

// join is a measured pairing: both chains, and the positions along them that
// meet. Between two of these the ease is distributed evenly.
type join struct {
	a, b   []link
	knotsA []float64
	knotsB []float64
}

func (a *assembly) chain(refs []pattern.EdgeRef, back bool, pair Pairing) ([]link, float64, error) {
	var links []link
	var sum float64
	for _, r := range refs {
		i := slices.IndexFunc(a.pieces, func(p pattern.Piece) bool { return p.Name == r.Piece })
		if i < 0 {
			return nil, 0, &PairingError{pair, fmt.Sprintf("no piece %q", r.Piece)}
		}
		if err := checkRun(a.pieces[i], r.Edge); err != nil {
			return nil, 0, &PairingError{pair, err.Error()}
		}
		if isFold(a.pieces[i], r.Edge) {
			return nil, 0, &PairingError{pair, fmt.Sprintf("%s is cut on the fold there and has no seam", r)}
		}
		n := a.pieces[i].RunLength(r.Edge)
		links = append(links, link{i, r.Edge, back, sum, n})
		sum += n
	}
	return links, sum, nil
}

// isFold reports whether a run is the fold of its piece.
func isFold(p pattern.Piece, run string) bool {
	return slices.ContainsFunc(p.Edges, func(e pattern.Edge) bool {
		return (e.Run == run || e.Name == run) && e.Role == pattern.RoleFold
	})
}

// join measures a pairing and finds the notches that are mates.
func (a *assembly) join(pair Pairing) (*join, error) {
	if len(pair.A) == 0 || len(pair.B) == 0 {
		return nil, &PairingError{pair, "a side names no edge"}
	}
	if len(pair.A) == 1 && len(pair.B) == 1 && pair.A[0] == pair.B[0] {
		links, n, err := a.chain(pair.A, false, pair)
		if err != nil {
			return nil, err
		}
		// The edge is sewn to its mirror image.
		return &join{a: links, knotsA: []float64{0, n}, knotsB: []float64{0, n}}, nil
	}
	links, la, err := a.chain(pair.A, pair.Back, pair)
	if err != nil {
		return nil, err
	}
	others, lb, err := a.chain(pair.B, pair.Back == pair.SameWay, pair)
	if err != nil {
		return nil, err
	}
	if off := la - lb - pair.Ease; math.Abs(off) > pattern.SeamTol {
		return nil, &PairingError{pair, fmt.Sprintf(
			"%.1f mm to %.1f mm; with the stated ease of %.1f mm it must be %.1f mm, off by %.2f mm",
			la, lb, pair.Ease, lb+pair.Ease, off)}
	}
	for _, at := range pair.Notches {
		if at < 0 {
			at += la
		}
		if at < 0 || at > la {
			return nil, &PairingError{pair, fmt.Sprintf("a notch at %.1f mm; must be from 0 to %.1f mm", at, la)}
		}
		n := pattern.Notch{At: at, Kind: pair.Kind}
		if n.Kind == "" {
			n.Kind = pattern.NotchSingle
		}
		a.addNotch(links, n)
	}
	j := &join{a: links, b: others}
	return j, a.mates(j, la, lb, pair)
}

// addNotch adds a notch that lies n.At along the chain.
func (a *assembly) addNotch(chain []link, n pattern.Notch) {
	for i, l := range chain {
		if n.At <= l.from+l.length || i == len(chain)-1 {
			n.Edge, n.At = l.run, l.toRun(n.At)
			a.notches[l.piece] = append(a.notches[l.piece], n)
			return
		}
	}
}

// notchesAlong returns the notches of a chain by their distance along it.
func (a *assembly) notchesAlong(chain []link) []pattern.Notch {
	var found []pattern.Notch
	for _, l := range chain {
		for _, n := range a.notches[l.piece] {
			if n.Edge == l.run {
				n.At = l.toChain(n.At)
				found = append(found, n)
			}
		}
	}
	slices.SortFunc(found, func(x, y pattern.Notch) int { return cmp.Compare(x.At, y.At) })
	return found
}

// mates pairs the notches of both sides in order. If one side has none it
// copies those of the other; otherwise each notch must have a mate.
func (a *assembly) mates(j *join, la, lb float64, pair Pairing) error {
	na, nb := a.notchesAlong(j.a), a.notchesAlong(j.b)
	switch {
	case len(nb) == 0:
		for _, n := range na {
			n.At *= lb / la
			a.addNotch(j.b, n)
		}
		nb = a.notchesAlong(j.b)
	case len(na) == 0:
		for _, n := range nb {
			n.At *= la / lb
			a.addNotch(j.a, n)
		}
		na = a.notchesAlong(j.a)
	}
	if len(na) != len(nb) {
		return &PairingError{pair, fmt.Sprintf("%d notches on one side, %d on the other", len(na), len(nb))}
	}
	j.knotsA, j.knotsB = []float64{0}, []float64{0}
	add := func(x, y float64) error {
		i := len(j.knotsA) - 1
		dx, dy := x-j.knotsA[i], y-j.knotsB[i]
		// Between two notches the longer side of the seam is the longer one.
		if e := dx - dy; math.Abs(e) > pattern.NotchTol && (pair.Ease == 0 || e*pair.Ease < 0 ||
			math.Abs(e) > math.Abs(pair.Ease)+pattern.NotchTol) {
			return &PairingError{pair, fmt.Sprintf("notches do not meet: %.1f mm apart on one side, %.1f mm on the other", dx,
				dy)}
		}
		j.knotsA, j.knotsB = append(j.knotsA, x), append(j.knotsB, y)
		return nil
	}
	for i := range na {
		if na[i].Kind != nb[i].Kind {
			return &PairingError{pair, fmt.Sprintf("a %s notch meets a %s one", na[i].Kind, nb[i].Kind)}
		}
		if err := add(na[i].At, nb[i].At); err != nil {
			return err
		}
	}
	return add(la, lb)
}

// interpolate maps d from one list of knots to another.
func interpolate(from, to []float64, d float64) float64 {
	for i := 1; i < len(from); i++ {
		if d <= from[i] || i == len(from)-1 {
			if span := from[i] - from[i-1]; span > 0 {
				return to[i-1] + (d-from[i-1])/span*(to[i]-to[i-1])
			}
			return to[i]
		}
	}
	return d
}

// carryCuts cuts every chain where its partner is cut or passes from one edge
// to the next. It reports whether it made a new cut.
func (a *assembly) carryCuts() bool {
	changed := false
	for _, j := range a.joins {
		if j.b == nil {
			continue
		}
		for _, d := range a.cutsAlong(j.a) {
			changed = a.cutChain(j.b, interpolate(j.knotsA, j.knotsB, d)) || changed
		}
		for _, d := range a.cutsAlong(j.b) {
			changed = a.cutChain(j.a, interpolate(j.knotsB, j.knotsA, d)) || changed
		}
	}
	return changed
}

func (a *assembly) cutsAlong(chain []link) []float64 {
	var at []float64
	for i, l := range chain {
		if i > 0 {
			at = append(at, l.from)
		}
		for _, d := range a.cuts[l.piece][l.run] {
			at = append(at, l.toChain(d))
		}
	}
	slices.Sort(at)
	return at
}

func (a *assembly) cutChain(chain []link, at float64) bool {
	for _, l := range chain {
		if at > l.from+l.length+geom.JoinTol || at < l.from-geom.JoinTol {
			continue
		}
		d := l.toRun(at)
		if d < pattern.MinPart || d > l.length-pattern.MinPart {
			return false
		}
		for _, c := range a.cuts[l.piece][l.run] {
			if math.Abs(c-d) < pattern.MinPart {
				return false
			}
		}
		a.cuts[l.piece][l.run] = append(a.cuts[l.piece][l.run], d)
		slices.Sort(a.cuts[l.piece][l.run])
		return true
	}
	return false
}

// breaks returns the positions along a run at which a dart opens in it, mm.
func breaks(p pattern.Piece, run string) []float64 {
	var at []float64
	var sum float64
	for _, e := range p.Edges {
		if e.Name == run {
			sum += e.Path.Length()
			at = append(at, sum)
		}
	}
	if len(at) == 0 {
		return nil
	}
	return at[:len(at)-1]
}

// finish cuts and numbers the pieces and states the seams.
func (a *assembly) finish() ([]pattern.Piece, []pattern.Seam, []error) {
	out := make([]pattern.Piece, len(a.pieces))
	for i, p := range a.pieces {
		p.Edges = withoutSpecks(cutRuns(p, a.cuts[i]))
		p.Notches = a.notches[i]
		out[i] = Numbered(p)
		out[i].Notches = append(out[i].Notches, joints(out[i], a.sewn(i))...)
	}
	var seams []pattern.Seam
	var errs []error
	for i, j := range a.joins {
		pair := a.pairings[i]
		pa := partsAlong(out, j.a)
		if j.b == nil {
			for _, r := range pa {
				seams = append(seams, pattern.Seam{A: r.ref, B: r.ref})
			}
			continue
		}
		pb := partsAlong(out, j.b)
		if len(pa) != len(pb) {
			errs = append(errs, &PairingError{pair, fmt.Sprintf("its sides are cut into %d and %d parts", len(pa), len(pb))})
			continue
		}
		for k := range pa {
			seams = append(seams, pattern.Seam{A: pa[k].ref, B: pb[k].ref, Ease: pa[k].length - pb[k].length, How: pair.How})
		}
	}
	trueJoints(out, seams)
	nameJoints(out, seams)
	return out, seams, errs
}

// sewn returns the runs of a piece that are sewn.
func (a *assembly) sewn(piece int) map[string]bool {
	runs := map[string]bool{}
	for _, j := range a.joins {
		for _, l := range slices.Concat(j.a, j.b) {
			if l.piece == piece {
				runs[l.run] = true
			}
		}
	}
	return runs
}

// speck is the length in mm of a segment that is an accident of cutting and
// turns its own way.
const speck = 0.1

// withoutSpecks returns the edges without segments too short to be meant.
func withoutSpecks(edges []pattern.Edge) []pattern.Edge {
	out := slices.Clone(edges)
	for i, e := range out {
		if slices.ContainsFunc(e.Path, func(s geom.Segment) bool { return s.P0.Near(s.P3, speck) && s.Length() < speck }) {
			out[i].Path = e.Path.WithoutSpecks(speck)
		}
	}
	return out
}

// cutRuns cuts the edges at the positions given for their runs, mm.
func cutRuns(p pattern.Piece, cuts map[string][]float64) []pattern.Edge {
	edges := p.Edges
	for run, at := range cuts {
		for _, d := range at {
			var sum float64
			for i, e := range edges {
				if e.Name != run {
					continue
				}
				n := e.Path.Length()
				if d > sum+pattern.MinPart/2 && d < sum+n-pattern.MinPart/2 {
					first, second := e, e
					first.Path, second.Path = cutPath(e.Path, d-sum)
					edges = slices.Concat(edges[:i], []pattern.Edge{first, second}, edges[i+1:])
					break
				}
				sum += n
			}
		}
	}
	return edges
}

// sliver is the length in mm under which a stroke beside a cut is a remnant: two
// edges that are cut at one length have their joins a hair apart.
const sliver = 0.3

// cutPath cuts a path at d mm along it. A cut within a sliver of a joint of the
// path moves the joint, so that no remnant is left as a segment of its own.
func cutPath(p geom.Path, d float64) (before, after geom.Path) {
	before, after = p.SplitAt(d)
	if n := len(before); n > 1 && before[n-1].Length() < sliver {
		before = before[:n-1].MoveEnd(before.End())
	}
	if len(after) > 1 && after[0].Length() < sliver {
		after = after[1:].MoveStart(after.Start())
	}
	return before, after
}

// smoothJoint is the largest turn in radians at which two edges that meet can't
// be told apart without a notch.
const smoothJoint = 20 * math.Pi / 180

// joints returns the notches where two edges meet without a visible corner.
func joints(p pattern.Piece, sewn map[string]bool) []pattern.Notch {
	var notches []pattern.Notch
	n := len(p.Edges)
	for i, e := range p.Edges {
		before := p.Edges[(i+n-1)%n]
		if e.Role == pattern.RoleDartMouth || before.Role == pattern.RoleDartMouth || !sewn[e.Run] && !sewn[before.Run] {
			continue
		}
		if e.Role == pattern.RoleFold || before.Role == pattern.RoleFold {
			continue // cut open there it is a corner, as the point of a V neck
		}
		if turn := geom.AngleBetween(before.Path.EndTangent(), e.Path.StartTangent()); math.Abs(turn) < smoothJoint {
			notches = append(notches, pattern.Notch{Edge: e.Name, At: 0, Kind: pattern.NotchSingle})
		}
	}
	return notches
}

type seamPart struct {
	ref    pattern.EdgeRef
	length float64
}

// partsAlong returns the parts of a chain in the order of sewing.
func partsAlong(pieces []pattern.Piece, chain []link) []seamPart {
	var parts []seamPart
	for _, l := range chain {
		p := pieces[l.piece]
		var of []seamPart
		for _, e := range p.Edges {
			if e.Run == l.run && e.Role != pattern.RoleDartMouth {
				of = append(of, seamPart{pattern.EdgeRef{Piece: p.Name, Edge: e.Name}, e.Path.Length()})
			}
		}
		if l.back {
			slices.Reverse(of)
		}
		parts = append(parts, of...)
	}
	return parts
}
