package block

import (
	"math"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/pattern"
)

// The seat takes more on fuller hips, little on men, and none where a man's are as slim as
// the waist. Girths alone do not say that the body is a woman's.
func TestSeatLength(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ waist, hip, want float64 }{
		{600, 840, 5}, {800, 1040, 10.6}, {1000, 1220, 15.7}, {1240, 1420, 20},
		{760, 889, 6.4}, {1000, 1058, 3.3}, {1100, 1100, 0},
	} {
		b, faults := body.New(body.Measures{body.WaistGirth: c.waist, body.HipGirth: c.hip}, nil)
		if faults != nil {
			t.Fatal(faults)
		}
		if got := seatLength(b); math.Abs(got-c.want) > 0.1 {
			t.Errorf("waist %g, hip %g: %.1f mm, want %.1f", c.waist, c.hip, got, c.want)
		}
	}
}

// The hem lies lower at the centre back than at the side by what the seat takes, and leaves
// the centre back square. A length at the centre back is kept.
func TestHemOverSeat(t *testing.T) {
	t.Parallel()
	for i, m := range surveytest.Women(t) {
		if i%101 != 0 {
			continue
		}
		b := person(t, m)
		level := b.Value(body.NapeToWaist)
		for _, c := range []struct {
			name   string
			choice Value
			share  float64 // of the seat that the hem has
			length float64 // at the centre back; 0 if it is not chosen
		}{
			{"waist", Value{Word: "waist"}, 0, level},
			{"knee", Value{Word: "knee"}, 1, 0},
			{"900 mm", Value{Number: 900}, 1, 900},
		} {
			p, err := Draft(t.Context(), "straight", Request{Body: b, Fit: "regular",
				Choices: map[string]Value{choiceLength: c.choice}})
			if err != nil {
				t.Fatal(err)
			}
			q, _ := p.Piece(pieceBack)
			hem, neck := q.Run(edgeHem), q.Run(edgeNeckline).Start()
			// The side seam leans a little, and passes the curve of the hip.
			want := c.share * (seatLength(b) - overHip)
			if got := hem.End().Y - hem.Start().Y; math.Abs(got-want) > 0.6 {
				t.Errorf("body %d, %s: the hem is %.2f mm lower at the centre back, want %.2f", i, c.name, got, want)
			}
			if c.length > 0 && math.Abs(hem.End().Y-neck.Y-c.length) > 0.01 {
				t.Errorf("body %d, %s: centre back %.2f mm, want %.2f", i, c.name, hem.End().Y-neck.Y, c.length)
			}
			if e, ok := q.Edge(edgeHem); !ok || e.Role != pattern.RoleHem || math.Abs(hem.EndTangent().Y) > 1e-6 {
				t.Errorf("body %d, %s: the hem reaches the centre back %+v, not square", i, c.name, hem.EndTangent())
			}
		}
	}
}
