package geom_test

import (
	"encoding/json"
	"slices"
	"testing"

	"tapeline/drafting/geom"
)

// What is written is read back to the last digit, however it is spaced, and
// what is no segment is refused.
func TestSegmentJSON(t *testing.T) {
	t.Parallel()
	want := geom.Path{
		geom.Line(geom.Pt(0, -1.5), geom.Pt(1.0/3, 2e-7)),
		geom.Cubic(geom.Pt(1.0/3, 2e-7), geom.Pt(3, 4), geom.Pt(-5.000000000000001, 6), geom.Pt(7, 1e21)),
	}
	data, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	spaced, err := json.MarshalIndent(want, " ", "\t")
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range [][]byte{data, spaced} {
		var got geom.Path
		if err := json.Unmarshal(text, &got); err != nil || !slices.Equal(got, want) {
			t.Errorf("%s is read as %v, %v", text, got, err)
		}
	}
	var s geom.Segment
	if err := s.UnmarshalJSON([]byte(" [1, 2,3 ,4]\n")); err != nil || s != geom.Line(geom.Pt(1, 2), geom.Pt(3, 4)) {
		t.Errorf("spaced all round: %v, %v", s, err)
	}
	for _, wrong := range []string{`[]`, `[1]`, `[1,2,3]`, `[1,2,3,4,5]`, `[1,2,3,4,5,6,7]`, `[1,2,3,4,5,6,7,8,9]`, `[1,2,3,4,5,6,7,8,9,10]`,
		`"1,2,3,4"`, `[1,2,3,"4"]`, `[1,2,3,[4]]`, `[1,2,3,1e999]`, `{}`, `7`} {
		if err := json.Unmarshal([]byte(wrong), &s); err == nil {
			t.Errorf("%s is read as %v", wrong, s)
		}
	}
}
