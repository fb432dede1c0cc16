package finish

import (
	"math"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/shapelytest"
)

// What testdata/parallel.py reads and answers.
type (
	geosPiece struct {
		Seam    []geom.Point `json:"seam"`
		Cut     []geom.Point `json:"cut"`
		Edges   []geosEdge   `json:"edges"`
		Corners []geosCorner `json:"corners"`
		Uniform float64      `json:"uniform,omitempty"`
		Mitre   float64      `json:"mitre"`
		Sharp   *geom.Point  `json:"sharp,omitempty"` // a corner beyond the mitre limit
	}
	geosEdge struct {
		Points    []geom.Point `json:"points"`
		Allowance float64      `json:"allowance"`
	}
	geosCorner struct {
		At   geom.Point `json:"at"`
		Zone float64    `json:"zone"`
	}
	geosAnswer struct {
		Points  int      `json:"points"`
		Edges   float64  `json:"edges"`
		Outline *float64 `json:"outline"`
		Area    float64  `json:"area"`
	}
)

// geos asks GEOS, through shapely, or skips where it is not installed.
func geos(t *testing.T, pieces []geosPiece) []geosAnswer {
	t.Helper()
	answers := shapelytest.Ask[[]geosAnswer](t, pieces, "testdata/parallel.py")
	if len(answers) != len(pieces) {
		t.Fatalf("%d answers to %d pieces", len(answers), len(pieces))
	}
	return answers
}

const geosChord = 0.002 // chord error in mm of what GEOS is given

func forGEOS(p Piece) geosPiece {
	g := geosPiece{Seam: p.Outline().Flatten(geosChord), Cut: p.CutLine.Flatten(geosChord), Mitre: MitreLimit}
	for i, e := range p.Edges {
		g.Edges = append(g.Edges, geosEdge{e.Path.Flatten(geosChord), p.Allowances[i]})
		g.Corners = append(g.Corners, geosCorner{e.Path.End(), 1.5*cornerZone(p, i) + MitreLimit*p.Allowances[i]})
		for k := 1; k < len(e.Path); k++ { // corners inside an edge, such as a mouth's peak
			if turn := geom.AngleBetween(e.Path[k-1].Tangent(1), e.Path[k].Tangent(0)); math.Abs(turn) > 0.01 {
				g.Corners = append(g.Corners, geosCorner{e.Path[k].P0, 3 * p.Allowances[i]})
			}
		}
	}
	return g
}

// The cut line against GEOS (through shapely): its distance from every edge
// away from corners; and with one allowance all round and seams only, the
// whole outline with its mitres, which GEOS draws by its buffer.
func TestAgainstGEOS(t *testing.T) {
	t.Parallel()
	var names []string
	var ask []geosPiece
	for _, rules := range []map[string]float64{nil, {"default": 15, "hem": 45, "neckline": 6, "armhole": 8, "cap": 8}} {
		out, err := finishLettered(testPattern(), Rules{Allowances: rules})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range out.Pieces {
			names, ask = append(names, p.Title), append(ask, forGEOS(p))
		}
	}
	for _, d := range []float64{6, 10, 15} {
		for _, piece := range testPattern().Pieces {
			for i := range piece.Edges {
				if piece.Edges[i].Role != pattern.RoleDartMouth {
					piece.Edges[i].Role = pattern.RoleSeam
				}
			}
			p := finished(t, piece, map[string]float64{"default": d})
			g := forGEOS(p)
			g.Uniform = d
			if piece.Name == "gore" { // its point is cut off at the limit, by GEOS at the corner itself
				g.Sharp = &geom.Point{X: 340, Y: 60}
			}
			names, ask = append(names, p.Title+" all round"), append(ask, g)
		}
	}
	for i, a := range geos(t, ask) {
		if a.Edges > stated || a.Points < 20 {
			t.Errorf("%s: the cut line misses an allowance by %.4f mm at %d points", names[i], a.Edges, a.Points)
		}
		if a.Outline != nil && (*a.Outline > stated || a.Area > 1e-4) {
			t.Errorf("%s: outlines %.4f mm apart, areas by %.2g", names[i], *a.Outline, a.Area)
		}
		if a.Outline != nil {
			t.Logf("%s: edges within %.4f mm, outline within %.4f mm, area within %.2g", names[i], a.Edges, *a.Outline, a.Area)
		} else {
			t.Logf("%s: edges within %.4f mm", names[i], a.Edges)
		}
	}
}
