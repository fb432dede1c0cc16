package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
)

// Four invented people: two that draft, one whose waist is no number, one
// with a bust that no body has.
const people = "\ufeffname,bust_girth,waist_girth,hip_girth,neck_base_girth,shoulder_length,back_width,nape_to_waist,upper_arm_girth,wrist_girth,arm_length,height\n" +
	"Ana,92,74,98,37,12.4,35,41.5,28.5,16,58,166\n" +
	"Bo,104,88,110,39,12.8,38,42,32,17,59,170\n" +
	"Cy,92,?,98,37,12.4,35,41.5,28.5,16,58,166\n" +
	"Di,920,74,98,37,12.4,35,41.5,28.5,16,58,\n"

func peopleFile(t *testing.T, csv string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "people.csv")
	if err := os.WriteFile(name, []byte(csv), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestProve(t *testing.T) {
	t.Parallel()
	file := peopleFile(t, people)
	r := tapeline(t, "", "prove", "torso", "--bodies", file, "--fit", "all", "--set", "bust_dart=side,shoulder", "--set", "ease/bust_girth=8", "--json")
	r.want(t, exitDone)
	var got proof
	if err := json.Unmarshal([]byte(r.out), &got); err != nil {
		t.Fatal(err)
	}
	if got.Rows != 4 || len(got.Variants) != 6 || got.counts != (counts{Drafted: 12, Refused: 12}) {
		t.Errorf("%d rows in %d variants: %+v; want 4 rows in 6, 12 drafted and 12 refused", got.Rows, len(got.Variants), got.counts)
	}
	if !reflect.DeepEqual(got.Ignored, []string{"name"}) {
		t.Errorf("ignored %v, want name", got.Ignored)
	}
	if len(got.Refusals) != 2 || got.Refusals[0].Count != 6 || got.Refusals[0].Line != 4 ||
		!strings.Contains(got.Refusals[0].Reason, `/measurements/waist_girth: "?": a number`) {
		t.Errorf("refusals = %+v", got.Refusals)
	}
	if len(got.Checks) < 10 {
		t.Errorf("only %d checks", len(got.Checks))
	}
	for _, c := range got.Checks {
		if c.Difference > c.Tolerance || c.Difference < -c.Tolerance || c.Tolerance <= 0 {
			t.Errorf("%+v is beyond its tolerance", c)
		}
	}
	if !(got.Draft.Mean > 0 && got.Draft.Median <= got.Draft.Max) {
		t.Errorf("times %+v", got.Draft)
	}
	tapeline(t, "", "prove", "--bodies", file, "torso").want(t, exitDone,
		"torso, 4 rows of", "ignored columns: name", "refused, by reason", "worst difference of each check", "a draft: mean")
}

func TestProveReadsAnotherColumn(t *testing.T) {
	t.Parallel()
	file := peopleFile(t, people)
	r := tapeline(t, "", "prove", "torso", "--bodies", file, "--column", "back_width_armpit_level=back_width", "--json")
	r.want(t, exitDone)
	var got proof
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || got.Drafted != 2 {
		t.Errorf("drafted %d, %v; want 2 by back_width_armpit_level", got.Drafted, err)
	}
}

func TestProveArguments(t *testing.T) {
	t.Parallel()
	file := peopleFile(t, people)
	for _, tt := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"torso"}, exitUsage, "--bodies FILE.csv is required"},
		{[]string{"skirts", "--bodies", file}, exitFaults, `/block: "skirts": torso, straight, skirt or circle_skirt`},
		{[]string{"torso", "--bodies", file, "--fit", "snug"}, exitFaults, `/fit: "snug": regular, close or loose`},
		{[]string{"torso", "--bodies", file, "--set", "bust_dart"}, exitFaults, `/set: "bust_dart": name=value`},
		{[]string{"torso", "--bodies", file, "--set", "bust_dart=hem"}, exitFaults, `/choices/bust_dart: "hem"`},
		{[]string{"torso", "--bodies", file, "--set", "length=900"}, exitFaults, `/choices/length: 900 cm`},
		{[]string{"torso", "--bodies", file, "--set", "ease/bust_girth=x"}, exitFaults, `/ease/bust_girth: "x": a length in cm`},
		{[]string{"torso", "--bodies", file, "--set", "seam/hem=1"}, exitFaults, `"seam/hem": a choice, ease/NAME or allowances/EDGE`},
		{[]string{"torso", "--bodies", file, "--column", "girth=bust_girth"}, exitFaults, `"girth=bust_girth": measurement=column`},
		{[]string{"torso", "--bodies", file + ".none"}, exitUsage, "no such file"},
		{[]string{"torso", "--bodies", peopleFile(t, "")}, exitFaults, "empty, without a header"},
		{[]string{"torso", "--bodies", peopleFile(t, "name,age\nAna,30\n")}, exitFaults, "no column is a measurement: name, age"},
		{[]string{"torso", "--bodies", peopleFile(t, "bust_girth,bust_girth\n92,92\n")}, exitFaults, "two columns for bust_girth"},
		{[]string{"torso", "--bodies", peopleFile(t, "bust_girth,waist_girth\n92\n")}, exitFaults, "wrong number of fields"},
	} {
		t.Run(strings.Join(tt.args[:1], " ")+" "+tt.want, func(t *testing.T) {
			t.Parallel()
			tapeline(t, "", append([]string{"prove"}, tt.args...)...).want(t, tt.code, tt.want)
		})
	}
}

func TestProveStops(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	rows := make([]bodyRow, 100_000)
	start := time.Now()
	if _, err := proveAll(ctx, rows, []variant{{name: "regular"}}); !errors.Is(err, context.Canceled) {
		t.Errorf("error = %v, want that it was cancelled, after %v", err, time.Since(start))
	}
}

func TestReadBodies(t *testing.T) {
	t.Parallel()
	b, err := readBodies(strings.NewReader("across,shoulder_slope, bust_girth ,x\n36.5,20,,\n30.48,21,88,\"\n\"\n1,2,NaN,3\n"), map[string]body.Name{"across": body.BackWidth})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(b.rows[0]), fmt.Sprint(bodyRow{2, body.Measures{body.BackWidth: 365, body.ShoulderSlope: 20}, nil}); got != want {
		t.Errorf("first row %v, want %v", got, want)
	}
	if got := b.rows[1].given; got[body.BackWidth] != 304.8 || got[body.BustGirth] != 880 {
		t.Errorf("second row %v, want mm", got)
	}
	if b.rows[2].line != 5 {
		t.Errorf("third row is said to stand in line %d, want 5", b.rows[2].line)
	}
}

// Whatever order drafts finish in, and however they are shared out, a tally
// comes to the same.
func TestTalliesMerge(t *testing.T) {
	t.Parallel()
	type draft struct {
		line int
		p    finish.Pattern
		err  error
	}
	var drafts []draft
	for line := range 40 {
		d := draft{line: line}
		switch line % 4 {
		case 0:
			d.err = fault.List{{Code: fault.Undraftable, Field: "/measurements/bust_girth", Accepted: fmt.Sprintf("too large by %d mm", line)}}
		case 1:
			d.err = &block.CheckError{Failed: []pattern.Check{{Name: "bust_girth", Target: 100, Drafted: float64(line)}}, Broken: []string{fmt.Sprintf("kink of %d degrees", line)}}
		default:
			d.p.Checks = []pattern.Check{{Name: "waist_girth", Target: 0, Drafted: float64(line % 7), Tolerance: 10}}
			d.p.Warnings = []string{fmt.Sprintf("moved by %d mm", line)}
		}
		drafts = append(drafts, d)
	}
	one := newTally()
	parts := []*tally{newTally(), newTally(), newTally()}
	for _, d := range drafts {
		one.add(d.line, "regular", d.p, d.err, 0)
	}
	for i := range drafts {
		d := drafts[len(drafts)-1-i]
		parts[i%3].add(d.line, "regular", d.p, d.err, 0)
	}
	parts[0].merge(parts[1])
	parts[0].merge(parts[2])
	for _, tt := range [][2]any{
		{parts[0].refusals, one.refusals}, {parts[0].failures, one.failures}, {parts[0].warning, one.warning}, {parts[0].checks, one.checks},
	} {
		if !reflect.DeepEqual(tt[0], tt[1]) {
			t.Errorf("merged %v\nin one %v", tt[0], tt[1])
		}
	}
	if one.drafted != 20 || one.refused != 10 || one.failed != 10 {
		t.Errorf("drafted %d, refused %d, failed %d", one.drafted, one.refused, one.failed)
	}
	if g := byCount(one.refusals); len(g) != 1 || g[0].Count != 10 || g[0].Line != 0 {
		t.Errorf("refusals = %+v, want one reason from line 0", g)
	}
	if g := byCount(one.failures); len(g) != 2 || g[0].Line != 1 {
		t.Errorf("failures = %+v, want the check and the rule, from line 1", g)
	}
	if w := worstFirst(one.checks); len(w) != 1 || w[0].Difference != 6 || w[0].Line != 6 {
		t.Errorf("worst = %+v, want 6 mm in line 6", w)
	}
}
