package finish

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"tapeline/drafting/fault"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// stated is by how much in mm a cut line may miss its allowance away from
// corners (the product's promise).
const stated = 0.1

// cornerZone is how far along the seam line the corner from edge i to the next
// may shape the cut line. A turned allowance leans by its own depth at most, a
// mitre reaches to its limit, and where the corner closes the two parallels
// meet the farther off the sharper it is.
func cornerZone(p Piece, i int) float64 {
	next := (i + 1) % len(p.Edges)
	a, b := p.Allowances[i], p.Allowances[next]
	turn := geom.AngleBetween(p.Edges[i].Path.EndTangent(), p.Edges[next].Path.StartTangent())
	switch {
	case turn < 0 && a != b:
		return 2 * (a + b) / math.Abs(math.Sin(turn))
	case a != b, isMouth(p.Edges[i]), isMouth(p.Edges[next]): // a dart's leg may slant to its edge
		return MitreLimit*max(a, b) + 0.5
	}
	return 1.1*max(a, b) + 0.5
}

func isMouth(e pattern.Edge) bool { return e.Role == pattern.RoleDartMouth }

// measured holds the lengths that a test read off a finished piece.
type measured struct {
	worst float64 // greatest miss of an allowance, mm
	where string
	share float64 // of the cut line that lies away from corners
}

// misses measures the distance of the cut line, every millimetre of it, from
// the edge nearest to it.
func misses(p Piece) measured {
	var m measured
	n := len(p.Edges)
	lengths, zones := make([]float64, n), make([]float64, n) // zones[i] at the end of edge i
	for i, e := range p.Edges {
		lengths[i], zones[i] = e.Path.Length(), cornerZone(p, i)
	}
	var at, counted int
	for _, s := range p.CutLine {
		steps := int(math.Ceil(s.Length()))
		for k := range steps {
			q := s.At((float64(k) + 0.5) / float64(steps))
			at++
			best, edge, along := math.Inf(1), -1, 0.0
			for i, e := range p.Edges {
				if _, d, a := e.Path.Nearest(q); d < best {
					best, edge, along = d, i, a
				}
			}
			own := p.Allowances[edge]
			if along < zones[(edge+n-1)%n] || lengths[edge]-along < zones[edge] || atKink(p.Edges[edge].Path, along) {
				continue
			}
			counted++
			if miss := math.Abs(best - own); miss > m.worst {
				m.worst = miss
				m.where = fmt.Sprintf("%s at %.1f of %.1f mm: %.3f for %g", p.Edges[edge].Name, along, lengths[edge], best, own)
			}
		}
	}
	m.share = float64(counted) / float64(at)
	return m
}

// atKink reports whether a place is a corner inside an edge, such as the peak
// of a dart's mouth.
func atKink(p geom.Path, along float64) bool {
	for i := 1; i < len(p); i++ {
		along -= p[i-1].Length()
		if math.Abs(along) < 1e-3 {
			return true
		}
	}
	return false
}

// sound checks what holds for every finished piece, and returns what it read.
func sound(t *testing.T, p Piece) measured {
	t.Helper()
	m := misses(p)
	if m.worst > stated {
		t.Errorf("%s: allowance missed by %.3f mm, %s", p.Name, m.worst, m.where)
	}
	if err := p.CutLine.Check(); err != nil || !p.CutLine.Closed() {
		t.Errorf("%s: cut line not closed (%v)", p.Name, err)
	}
	if c := p.CutLine.SelfCrossings(); len(c) > 0 {
		t.Errorf("%s: cut line crosses itself at %v", p.Name, c[0].At)
	}
	seam := p.Outline()
	if p.CutLine.Area() < seam.Area()*(1-1e-9) {
		t.Errorf("%s: cut line encloses %.0f mm², seam line %.0f", p.Name, p.CutLine.Area(), seam.Area())
	}
	for _, q := range seam.Flatten(0.5) {
		if _, d, _ := p.CutLine.Nearest(q); !p.CutLine.Contains(q) && d > geom.OffsetTol {
			t.Errorf("%s: seam line leaves the cut line at %v by %.3f mm", p.Name, q, d)
			break
		}
	}
	for _, e := range p.Edges {
		if e.Role != pattern.RoleFold {
			continue
		}
		l := line{e.Path.Start(), e.Path.End().Sub(e.Path.Start()).Unit()}
		for _, q := range p.CutLine.Flatten(0.1) {
			if past := l.along.Left().Dot(q.Sub(l.at)); past > 1e-6 {
				t.Errorf("%s: cut line passes the fold by %.4f mm at %v", p.Name, past, q)
				break
			}
		}
		for _, q := range e.Path.Flatten(1) {
			if _, d, _ := p.CutLine.Nearest(q); d > 1e-6 {
				t.Errorf("%s: cut line is %.4f mm off the fold at %v", p.Name, d, q)
				break
			}
		}
	}
	return m
}

func TestAllowancesAreTrue(t *testing.T) {
	t.Parallel()
	for name, rules := range map[string]map[string]float64{
		"as they come":  nil,
		"workroom":      {"default": 15, "hem": 40, "neckline": 6, "armhole": 10},
		"narrow":        {"default": 4, "hem": 8},
		"none":          {"default": 0, "hem": 0},
		"none but hems": {"default": 0, "hem": 25},
		"bound edges":   {"neckline": 0, "armhole": 0, "cap": 12},
		"every edge its own": {"waist_centre": 12, "waist_side": 12, "side": 20, "shoulder": 16, "side_upper": 18,
			"side_lower": 18, "seam_back": 25, "seam_front": 8, "front/neckline": 7},
		"a step on smooth join": {"inset": 4, "inset_lower": 14, "side_upper": 10, "side_lower": 22, "cap_back": 6,
			"cap_front": 12},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p, err := finishLettered(testPattern(), Rules{Allowances: rules})
			if err != nil {
				t.Fatal(err)
			}
			for _, piece := range p.Pieces {
				m := sound(t, piece)
				if m.share < 0.35 {
					t.Errorf("%s: only %.0f %% of the cut line was measured", piece.Name, 100*m.share)
				}
				t.Logf("%-7s worst %.4f mm over %.0f %% of the cut line", piece.Name, m.worst, 100*m.share)
			}
		})
	}
}

func TestRulesDecideByTheNarrowestName(t *testing.T) {
	t.Parallel()
	edge := pattern.Edge{Name: "collar_seam", Role: pattern.RoleNeckline}
	hem := pattern.Edge{Name: "wrist", Role: pattern.RoleHem}
	all := map[string]float64{"default": 1, "neckline": 2, "collar_seam": 3, "back/collar_seam": 4}
	for _, c := range []struct {
		piece string
		edge  pattern.Edge
		drop  []string
		want  float64
	}{
		{"back", edge, nil, 4},
		{"front", edge, nil, 3},
		{"back", edge, []string{"back/collar_seam"}, 3},
		{"back", edge, []string{"back/collar_seam", "collar_seam"}, 2},
		{"back", edge, []string{"back/collar_seam", "collar_seam", "neckline"}, 1},
		{"back", edge, []string{"back/collar_seam", "collar_seam", "neckline", "default"}, DefaultAllowance},
		{"sleeve", hem, nil, DefaultHem},
	} {
		rules := Rules{Allowances: map[string]float64{}}
		for k, v := range all {
			rules.Allowances[k] = v
		}
		for _, k := range c.drop {
			delete(rules.Allowances, k)
		}
		if got := rules.allowance(c.piece, c.edge); got != c.want {
			t.Errorf("%s/%s without %v: %g mm, want %g", c.piece, c.edge.Name, c.drop, got, c.want)
		}
	}
}

func TestRulesThatNameNothingAreFaults(t *testing.T) {
	t.Parallel()
	_, err := finishLettered(testPattern(), Rules{Allowances: map[string]float64{
		"front/neckline":     6,
		"front/nekline":      6,
		"front/centre_front": 10,
		"waist_dart":         10,
		"seam":               -1,
		"hem":                150.5,
		"cap":                math.NaN(),
		"default":            math.Inf(1),
	}})
	faults, ok := errors.AsType[fault.List](err)
	if !ok {
		t.Fatalf("error is %T: %v", err, err)
	}
	got := map[string]fault.Code{}
	for _, f := range faults {
		got[f.Field] = f.Code
		if f.Value == "" || f.Accepted == "" {
			t.Errorf("%+v lacks its value or what is accepted", f)
		}
	}
	want := map[string]fault.Code{
		"/allowances/front~1nekline":      fault.Unknown,
		"/allowances/front~1centre_front": fault.Choice,
		"/allowances/waist_dart":          fault.Choice,
		"/allowances/seam":                fault.Range,
		"/allowances/hem":                 fault.Range,
		"/allowances/cap":                 fault.Range,
		"/allowances/default":             fault.Range,
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("faults %v\nwant   %v", got, want)
	}
}
