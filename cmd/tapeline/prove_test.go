package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"tapeline/drafting/proof"
	"tapeline/service/files"
)

// Four invented people: two that draft, one whose waist is no number, one
// with a bust that no body has.
const people = "\ufeffname,bust_girth,waist_girth,hip_girth,neck_base_girth,shoulder_length,back_width," +
	"nape_to_waist,upper_arm_girth,wrist_girth,arm_length,height\n" +
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
	r := tapeline(t, "", "prove", "torso", "--bodies", file, "--fit", "all", "--set", "bust_dart=side,shoulder", "--set",
		"ease/bust_girth=8", "--json")
	r.want(t, exitDone)
	var got files.Proof
	if err := json.Unmarshal([]byte(r.out), &got); err != nil {
		t.Fatal(err)
	}
	if got.Rows != 4 || len(got.Variants) != 6 || got.Counts != (proof.Counts{Drafted: 12, Refused: 12}) {
		t.Errorf("%d rows in %d variants: %+v; want 4 rows in 6, 12 drafted and 12 refused", got.Rows, len(got.Variants),
			got.Counts)
	}
	if !reflect.DeepEqual(got.Ignored, []string{"name"}) {
		t.Errorf("ignored %v, want name", got.Ignored)
	}
	if len(got.Refusals) != 2 || got.Refusals[0].Count != 6 || got.Refusals[0].Body != "line 4" ||
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
	var got files.Proof
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || got.Drafted != 2 {
		t.Errorf("drafted %d, %v; want 2 by back_width_armpit_level", got.Drafted, err)
	}
}

// A proof of drafts as worn keeps how far it is, and goes on from there: at its end
// there is nothing left to try on.
func TestProveWorn(t *testing.T) {
	t.Parallel()
	keep := filepath.Join(t.TempDir(), "worn.json")
	args := []string{"prove", "straight-skirt", "--worn", "--sample", "1", "--keep", keep, "--json"}
	var first, again files.WornProof
	for _, got := range []*files.WornProof{&first, &again} {
		r := tapeline(t, "", args...)
		r.want(t, exitDone)
		if err := json.Unmarshal([]byte(r.out), got); err != nil {
			t.Fatal(err)
		}
	}
	if first.Tried() != 1 || first.Unsettled != 0 || len(first.Variants) != 1 {
		t.Errorf("tried on: %+v", first)
	}
	if !reflect.DeepEqual(first.WornReport, again.WornReport) {
		t.Errorf("first %+v, then %+v", first, again)
	}
	tapeline(t, "", "prove", "straight-skirt", "--worn", "--sample", "1", "--keep", keep).want(t, exitDone,
		"straight-skirt on 1 rows of the built-in panel, worn, quick", "not settled", "1 tried on")
	tapeline(t, "", "prove", "straight-skirt", "--worn", "--cures", "--sample", "1").want(t, exitDone, "then fit")
	tapeline(t, "", "prove", "straight-skirt", "--cures").want(t, exitUsage, "apply to --worn only")
}

func TestProveArguments(t *testing.T) {
	t.Parallel()
	file := peopleFile(t, people)
	for _, tt := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"torso", "--bodies", file, "--ends", "--fit", "all"}, exitUsage, "omit --fit and --set"},
		{[]string{"torso", "--bodies", file, "--sample", "2"}, exitUsage, "apply to --worn only"},
		{[]string{"torso", "--bodies", file, "--worn", "--level", "exact"}, exitUsage, "want quick or full"},
		{[]string{"torso", "--worn", "--random", "5"}, exitUsage, "omit --random"},
		{[]string{"torso", "--worn", "--cloth", "silk"}, exitFaults, "--cloth: silk: light-woven"},
		{[]string{"torso", "--worn", "--keep", file}, exitFaults, "the file of a proof of the same garment"},
		{[]string{"none.star"}, exitFaults, "no such file"},
		{[]string{"skirts", "--bodies", file}, exitFaults,
			`/block: "skirts": torso, straight, jacket, skirt, circle_skirt, trousers, knit_leg or knit_torso`},
		{[]string{"torso", "--bodies", file, "--fit", "snug"}, exitFaults, `/fit: "snug": regular, close or loose`},
		{[]string{"torso", "--bodies", file, "--set", "bust_dart"}, exitFaults, `/set: "bust_dart": name=value`},
		{[]string{"torso", "--bodies", file, "--set", "bust_dart=hem"}, exitFaults, `/choices/bust_dart: "hem"`},
		{[]string{"torso", "--bodies", file, "--set", "length=900"}, exitFaults, `/choices/length: 900 cm`},
		{[]string{"torso", "--bodies", file, "--set", "ease/bust_girth=x"}, exitFaults,
			`/ease/bust_girth: "x": a length in cm`},
		{[]string{"torso", "--bodies", file, "--set", "seam/hem=1"}, exitFaults,
			`"seam/hem": a choice, ease/NAME or allowances/EDGE`},
		{[]string{"torso", "--bodies", file, "--column", "girth=bust_girth"}, exitFaults,
			`"girth=bust_girth": measurement=column`},
		{[]string{"torso", "--bodies", file + ".none"}, exitUsage, "no such file"},
		{[]string{"torso", "--bodies", peopleFile(t, "")}, exitFaults, "empty, without a header"},
		{[]string{"torso", "--bodies", peopleFile(t, "name,age\nAna,30\n")}, exitFaults,
			"no column is a measurement: name, age"},
		{[]string{"torso", "--bodies", peopleFile(t, "bust_girth,bust_girth\n92,92\n")}, exitFaults,
			"two columns for bust_girth"},
		{[]string{"torso", "--bodies", peopleFile(t, "bust_girth,waist_girth\n92\n")}, exitFaults, "wrong number of fields"},
	} {
		t.Run(strings.Join(tt.args[:1], " ")+" "+tt.want, func(t *testing.T) {
			t.Parallel()
			tapeline(t, "", append([]string{"prove"}, tt.args...)...).want(t, tt.code, tt.want)
		})
	}
}

// A script is proved before it is anywhere, at every end of its choices.
func TestProveAScript(t *testing.T) {
	t.Parallel()
	source := "style(slug = \"vest\", title = \"Vest\", block = \"torso\", draft = {\"sleeve\": \"none\"}, " +
		"allowances = {\"default\": 10},\n" +
		"    choices = [choice(\"low\", \"Neck.\", length = (0, 400), default = 10)])\n" +
		"def make(body, ease, choose, block):\n" +
		"    front = drop(block.front, \"neckline\" if choose.low < 400 else \"pocket\", centre_front = choose.low) if " +
		"choose.low else block.front\n" +
		"    return garment([block.back, front], [seam(\"back/side\", \"front/side\"), seam(\"back/shoulder\", " +
		"\"front/shoulder\",\n" +
		"        ease = length(block.back, \"shoulder\") - length(front, \"shoulder\"), how = \"eased\")], [\"Sew.\"])\n"
	file := filepath.Join(t.TempDir(), "vest.star")
	if err := os.WriteFile(file, []byte(source), 0o600); err != nil {
		t.Fatal(err)
	}
	r := tapeline(t, "", "prove", file, "--ends", "--bodies", peopleFile(t, people), "--json")
	r.want(t, exitFaults)
	var got files.Proof
	if err := json.Unmarshal([]byte(r.out), &got); err != nil {
		t.Fatal(err)
	}
	if got.Block != "vest" || got.Drafted != 12 || got.Failed != 6 || got.Cloth == nil || got.Sheets == nil ||
		len(got.Failures) == 0 || !strings.HasPrefix(got.Failures[0].Reason, "vest: line 4") ||
		got.Failures[0].Body != "line 2" {
		t.Errorf("proved: %+v", got)
	}
	// And drafted, for an order that names its slug.
	order := strings.Replace(string(sampleOrder(t)), `"block": "torso"`, `"style": "vest"`, 1)
	order = order[:strings.Index(order, `"choices"`)] + `"choices": {"low": 2}}`
	pattern := filepath.Join(t.TempDir(), "vest.json")
	tapeline(t, order, "draft", "-", "--script", file, "-o", pattern).want(t, exitDone, "Vest, regular fit")
	tapeline(t, order, "draft", "-", "-o", pattern).want(t, exitFaults, "/style")
	if err := os.WriteFile(file, []byte("style(\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	tapeline(t, "", "prove", file).want(t, exitFaults, "vest.star:2: ")
	tapeline(t, order, "draft", "-", "--script", file, "-o", pattern).want(t, exitFaults, "vest.star:2: ")
}

// A script with mistakes is drafted, and they and what it prints are named with
// file and line; a seam edge without a partner fails its proof.
func TestFindingsOfAScript(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "coat.star")
	source := `style(slug = "coat", title = "Coat", block = "torso", draft = {"sleeve": "none"},
    choices = [choice("lined", "Line it.")], allowances = {"default": 10})
def make(body, ease, choose, block):
    print("side", length(block.front, "side"), block.front.darts)
    return garment([block.back, block.front], [seam("back/side", "front/side")], ["Sew."])
`
	if err := os.WriteFile(file, []byte(source), 0o600); err != nil {
		t.Fatal(err)
	}
	order := strings.Replace(string(sampleOrder(t)), `"block": "torso"`, `"style": "coat"`, 1)
	order = order[:strings.Index(order, `"choices"`)] + `"choices": {"lined": true}}`
	findings := []string{"coat.star:2: the choice lined is declared but never used (choice_unused)",
		"coat.star:4: print writes only at the command line",
		"coat.star:5: 6 edges are in no seam: back/neckline, back/shoulder"}
	r := tapeline(t, order, "draft", "-", "--script", file, "-o", filepath.Join(t.TempDir(), "coat.json"))
	r.want(t, exitDone, append(findings, "coat.star:4: side ", ` ("bust_dart", `)...)
	if n := strings.Count(r.errOut, "coat.star:4: side "); n != 1 {
		t.Errorf("printed %d times:\n%s", n, r.errOut)
	}
	r = tapeline(t, "", "prove", file, "--bodies", peopleFile(t, people))
	r.want(t, exitFaults, append(findings, "back/shoulder is an edge of role seam", "never drafted: regular")...)
	if strings.Contains(r.errOut, "coat.star:4: side ") {
		t.Errorf("a proof prints:\n%s", r.errOut)
	}
}

// Orders at random are proved by garment, and any of them can be drafted again.
func TestProveAtRandom(t *testing.T) {
	t.Parallel()
	file := peopleFile(t, people)
	r := tapeline(t, "", "prove", "skirt", "--random", "8", "--seed", "3", "--bodies", file, "--json")
	r.want(t, exitDone)
	var got files.Proof
	if err := json.Unmarshal([]byte(r.out), &got); err != nil {
		t.Fatal(err)
	}
	if got.Rows != 4 || len(got.Variants) != 1 || got.Drafted+got.Refused != 8 || got.Drafted == 0 || got.Refused == 0 ||
		!strings.HasPrefix(got.Refusals[0].Body, "order ") {
		t.Errorf("proved: %+v", got)
	}
	tapeline(t, "", "prove", "all", "--random", "30", "--men", file).want(t, exitDone, "30 orders at random of seed 1",
		"straight-trousers")
	order := tapeline(t, "", "prove", "wrap-robe", "--random", "5", "--order", "4")
	order.want(t, exitDone, `"style": "wrap-robe"`, `"reference": "order 4"`)
	tapeline(t, order.out, "draft", "-", "-o", filepath.Join(t.TempDir(), "x.json")).want(t, exitDone, "Wrap robe")
	for _, tt := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"all", "--random", "5", "--ends"}, exitUsage, "omit --ends, --fit and --set"},
		{[]string{"torso", "--men", file}, exitUsage, "--men applies to --random only"},
		{[]string{"all", "--random", "-1"}, exitFaults, "/random: -1: 1 to 10000000 orders"},
		{[]string{"shirt", "--random", "5"}, exitFaults, `"shirt"`},
		{[]string{"all", "--random", "5", "--order", "5"}, exitFaults, "/order: 5: 0 to 4"},
		{[]string{"all", "--random", "5", "--bodies", file + ".none"}, exitUsage, "no such file"},
		{[]string{"all", "--random", "5", "--bodies", peopleFile(t, "bust_girth\n")}, exitFaults, "no bodies"},
	} {
		tapeline(t, "", append([]string{"prove"}, tt.args...)...).want(t, tt.code, tt.want)
	}
}

// sampleOrder is the order that the README's first command drafts.
func sampleOrder(t *testing.T) []byte {
	t.Helper()
	data, err := os.ReadFile("../../testdata/orders/torso.json")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// A script that does not end is ended, at the same line and for the same reason as by
// the service.
func TestEndlessScript(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "coat.star")
	source := `style(slug = "coat", title = "Coat", block = "torso", draft = {"sleeve": "none"},
    choices = [choice("lined", "Line it.")], allowances = {"default": 10})
def make(body, ease, choose, block):
    if choose.lined:
        [length(block.front, "side") for i in range(1000000)]
    return garment([block.back, block.front], [seam("back/side", "front/side")], ["Sew."])
`
	if err := os.WriteFile(file, []byte(source), 0o600); err != nil {
		t.Fatal(err)
	}
	order := strings.Replace(string(sampleOrder(t)), `"block": "torso"`, `"style": "coat"`, 1)
	order = order[:strings.Index(order, `"choices"`)] + `"choices": {"lined": true}}`
	tapeline(t, order, "draft", "-", "--script", file, "-o", filepath.Join(t.TempDir(), "coat.json")).
		want(t, exitFaults, "coat.star:5: ", "more than 1000000 steps")
	tapeline(t, "", "prove", file, "--set", "lined=yes", "--bodies", peopleFile(t, people)).
		want(t, exitFaults, "coat: line 5: ", "more than 1000000 steps")
}
