package finish

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// randomPiece is a star-shaped outline of straight and curved edges with
// random roles, no two alike.
func randomPiece(r *rand.Rand) pattern.Piece {
	n := 4 + r.IntN(5)
	corners := make([]geom.Point, n)
	for i := range corners {
		angle := 2 * math.Pi * (float64(i) + 0.6*r.Float64()) / float64(n)
		corners[i] = geom.Polar(120+200*r.Float64(), angle)
	}
	roles := []pattern.Role{pattern.RoleSeam, pattern.RoleSeam, pattern.RoleHem, pattern.RoleNeckline,
		pattern.RoleArmhole, pattern.RoleCap}
	p := pattern.Piece{Name: "random", Title: "Random", Cut: pattern.Cut{Count: 1}}
	fold := r.IntN(2 * n)
	for i, a := range corners {
		b := corners[(i+1)%n]
		role := roles[r.IntN(len(roles))]
		s := geom.Line(a, b)
		if i == fold {
			role = pattern.RoleFold
		} else if r.IntN(3) > 0 {
			bulge := func() geom.Point { return b.Sub(a).Left().Mul(0.5*r.Float64() - 0.25) }
			s = geom.Cubic(a, a.Lerp(b, 0.3).Add(bulge()), a.Lerp(b, 0.7).Add(bulge()), b)
		}
		p.Edges = append(p.Edges, edge(fmt.Sprintf("e%d", i), role, s))
	}
	return p
}

// oddFold reports whether the outline meets its fold at an angle at which no
// cloth is folded.
func oddFold(p pattern.Piece) bool {
	n := len(p.Edges)
	for i, e := range p.Edges {
		next := p.Edges[(i+1)%n]
		turn := geom.AngleBetween(e.Path.EndTangent(), next.Path.StartTangent())
		if (e.Role == pattern.RoleFold || next.Role == pattern.RoleFold) && (turn < math.Pi/4 || turn > 3*math.Pi/4) {
			return true
		}
	}
	return false
}

func TestRandomPieces(t *testing.T) {
	t.Parallel()
	const count = 400
	refused := map[string]int{}
	var worst measured
	tried := 0
	for seed := range uint64(count) {
		r := rand.New(rand.NewPCG(seed, 1))
		p := randomPiece(r)
		if len(p.Outline().SelfCrossings()) > 0 || oddFold(p) {
			continue
		}
		tried++
		rules := map[string]float64{}
		for i, e := range p.Edges {
			if e.Role != pattern.RoleFold && r.IntN(2) == 0 {
				rules[e.Name] = float64(r.IntN(4)) * 6
			}
			p.Notches = append(p.Notches, pattern.Notch{Edge: e.Name, At: e.Path.Length() * r.Float64(),
				Kind: []pattern.NotchKind{pattern.NotchSingle, pattern.NotchDouble}[i%2]})
		}
		out, err := finishLettered(pattern.Pattern{Pieces: []pattern.Piece{p}}, Rules{Allowances: rules})
		if err != nil {
			refused[err.Error()]++
			t.Logf("seed %d: %v", seed, err)
			continue
		}
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			if m := sound(t, out.Pieces[0]); m.worst > worst.worst {
				worst = m
			}
			lettered(t, out.Pieces[0])
			for _, tick := range out.Pieces[0].Ticks {
				if tick.Stroke.Length() > 30+1e-6 {
					t.Errorf("a notch of %.1f mm", tick.Stroke.Length())
				}
			}
		})
	}
	if len(refused) > tried/20 {
		t.Errorf("%d of %d pieces refused", len(refused), tried)
	}
	t.Logf("%d tried, %d refused, worst allowance %.4f mm (%s)", tried, len(refused), worst.worst, worst.where)
}
