package style_test

import (
	"errors"
	"fmt"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// A garment that is drafted to a woman is also drafted to her with a shoulder
// that differs: openings end at one height on both sides, and what lies on the
// fold meets there. That holds too where a script steps its neck on until the head
// passes, or opens a slit for it.
func TestSidesThatDifferOnRealBodies(t *testing.T) {
	t.Parallel()
	women := surveytest.WithBellies(surveytest.Women(t))
	sides := []map[string]float64{
		{"shoulder_height": -8}, {"shoulder_height": -20}, {"shoulder_height": 10, "shoulder_forward": 10, "upper_arm": 15},
	}
	for _, s := range styles(t) {
		spec := s.Spec()
		if base, _ := block.Find(s.Head.Block); !base.Sided {
			continue
		}
		for _, choices := range []map[string]block.Value{nil, steppedNeck[s.Head.Slug]} {
			tried := 0
			for i := 0; i < len(women); i += everyNth(180) {
				b, faults := body.NewIn(body.Centimetre, women[i], spec.Requires, spec.Uses)
				if faults != nil {
					t.Fatal(faults)
				}
				request := block.Request{Body: b, Fit: spec.Fits[0].Name, Choices: choices}
				if _, err := s.Draft(t.Context(), request); err != nil {
					continue
				}
				for _, own := range sides {
					tried++
					request.Left = own
					if _, err := s.Draft(t.Context(), request); err != nil {
						t.Errorf("%s %v on woman %d, left %v: %v", s.Head.Slug, choices, i, own, err)
					}
				}
			}
			if tried == 0 {
				t.Errorf("%s %v: nobody can wear it", s.Head.Slug, choices)
			}
		}
	}
}

// steppedNeck are choices that leave the neck to the script.
var steppedNeck = map[string]map[string]block.Value{
	"gathered-skirt-dress": {"waist": {Word: "elastic"}, "neck_depth": {Number: 0}, "neck_width": {Number: 0}},
	"knit-top":             {"neck_depth": {Number: 10}, "neck_width": {Number: 5}, "stretch": {Number: 15}},
	"princess-dress":       {"neck": {Word: "boat"}},
	"shift-dress":          {"neck": {Word: "boat"}, "waist": {Word: "none"}},
}

func styles(t *testing.T) []*style.Style {
	t.Helper()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// A script is run for both sides until they agree. It is told what either works
// out, and one that never agrees ends.
func TestBothSides(t *testing.T) {
	t.Parallel()
	const head = `
style(slug = "s", title = "S", about = "A.", block = "torso", fits = [fit("regular", like = "regular")], choices = [])

def make(body, ease, choose, block):
    front, back = block.front, block.back
%s
    eased = length(back, "shoulder") - length(front, "shoulder")
    return garment([front, back], [
        seam("back/shoulder", "front/shoulder", ease = eased, how = "eased"),
        seam("back/side", "front/side"),
    ], ["Sew."])
`
	for _, c := range []struct {
		name, lines string
		refused     bool
	}{
		{"sides apart", `    front = drop(front, "neckline", centre_front = length(front, "armhole") / 10)`, true},
		{"the deeper", `    deep = max(both_sides(length(front, "armhole"))) / 10
    front = drop(front, "neckline", centre_front = deep)`, false},
		{"twice", `    a = max(both_sides(length(front, "armhole")))
    front = drop(front, "neckline", centre_front = min(both_sides(a + length(front, "armhole"))) / 20)`, false},
		{"right first", `    right, left = both_sides(length(front, "armhole"))
    require(right > left + 0.1, "the right armhole is %f mm long, the left %f" % (right, left))
    front = drop(front, "neckline", centre_front = right / 10)`, false},
		{"another number of calls", `    if max(both_sides(length(front, "shoulder"))) > 0:
        for i in range(int(length(front, "armhole")) % 7):
            both_sides(i)`, false},
	} {
		s, err := style.Compile([]byte(fmt.Sprintf(head, c.lines)))
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		b, faults := body.New(standard, s.Spec().Requires)
		if faults != nil {
			t.Fatal(faults)
		}
		_, err = s.Draft(t.Context(), block.Request{Body: b, Fit: "regular",
			Left: map[string]float64{"shoulder_height": -20}})
		if _, refused := errors.AsType[fault.List](err); refused != c.refused || err != nil && !refused {
			t.Errorf("%s: %v, want refused %t", c.name, err, c.refused)
		}
	}
}
