package style_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

// program writes a random but typed script: every argument is of the type that
// its verb takes, its value as it comes.
type program struct {
	data  []byte
	lines []string
	names map[string][]string // variables by type
}

func (g *program) byte() byte {
	if len(g.data) == 0 {
		return 0
	}
	b := g.data[0]
	g.data = g.data[1:]
	return b
}

func (g *program) pick(list []string) string { return list[int(g.byte())%len(list)] }

var (
	fuzzEdges = []string{"neckline", "shoulder", "armhole", "side", "hem", "centre_front", "centre_back", "cap_back",
		"cap_front", "underarm_back", "underarm_front", "top", "end", "bottom", "start", "inner", "cut", "bag", "outer",
		"front", "neck", "lapel", "gorge", "collar_outer", "crown", "vent_edge", "bottom"}
	fuzzDarts = []string{"bust_dart", "waist_dart", "shoulder_dart", "waist_dart_1", "new_dart"}
	fuzzLines = []string{"bust", "waist", "hip", "biceps", "elbow", "keep"}
	fuzzRoles = []string{"seam", "hem", "neckline", "armhole", "cap", "edge"}
)

// value is an expression of a type.
func (g *program) value(kind string) string {
	switch kind {
	case "mm":
		sizes := []float64{0, 1, 5, 12.5, 30, 60, 110, 250, 700, -1, -15, -80, 0.001, 5000}
		return fmt.Sprint(sizes[int(g.byte())%len(sizes)])
	case "part":
		return fmt.Sprint(float64(g.byte()) / 255)
	case "degrees":
		return fmt.Sprint(int(g.byte())*3 - 360)
	case "count":
		return fmt.Sprint(int(g.byte()) % 12)
	case "direction":
		return g.pick([]string{`"right"`, `"left"`, `"up"`, `"down"`, "None", "30", "-120", "200"})
	case "edge":
		return `"` + g.pick(fuzzEdges) + `"`
	case "dart":
		return `"` + g.pick(fuzzDarts) + `"`
	case "guide":
		return `"` + g.pick(fuzzLines) + `"`
	case "role":
		return `"` + g.pick(fuzzRoles) + `"`
	case "name":
		return `"` + g.pick([]string{"a", "b", "c", "back", "front", "facing", "keep", "cut"}) + `"`
	case "bool":
		return g.pick([]string{"True", "False"})
	case "points":
		var p []string
		for range 2 + g.byte()%4 {
			p = append(p, g.value("point"))
		}
		return "[" + strings.Join(p, ", ") + "]"
	case "spot":
		return "(" + g.value("edge") + ", " + g.value("mm") + ")"
	case "edges":
		return "[" + g.value("edge") + ", " + g.value("edge") + "]"
	case "point":
		if g.byte()%3 == 0 || len(g.names["point"]) == 0 {
			return "point(" + g.value("mm") + ", " + g.value("mm") + ")"
		}
	case "path":
		if g.byte()%4 == 0 || len(g.names["path"]) == 0 {
			return "line(" + g.value("point") + ", " + g.value("point") + ")"
		}
	}
	return g.pick(g.names[kind])
}

// fuzzVerbs are the verbs with the types they take and give.
var fuzzVerbs = []struct{ gives, form string }{
	{"point", "along(%path%, at = %mm%)"}, {"point", "along(%path%, part = %part%)"},
	{"point", "corner(%piece%, %edge%, %edge%)"},
	{"point", "mark(%piece%, %dart%)"}, {"point", "polar(%point%, %mm%, %direction%)"}, {"point", "meet(%path%, %path%)"},
	{"point", "nearest(%path%, %point%)"}, {"point", "%path%.start"}, {"point", "%path%.end"},
	{"point", "%point% + %point%"},
	{"path", "curve(%points%, start = %direction%, end = %direction%)"},
	{"path", "arc(%point%, %mm%, %degrees%, %degrees%)"},
	{"path", "edge(%piece%, %edge%)"}, {"path", "guide(%piece%, %guide%)"}, {"path", "legs(%piece%, %dart%)[0]"},
	{"path", "parallel(%path%, %mm%)"}, {"path", "part(%path%, %mm%, %mm%)"}, {"path", "sized(%path%, %mm%)"},
	{"path", "stretched(%path%, %point%, %point%)"}, {"path", "%path% + %path%"}, {"path", "%path%.reversed"},
	{"path", "mirror(%path%, %point%, %point%)"},
	{"piece", "shift(%piece%, right = %mm%, down = %mm%)"}, {"piece", "turn(%piece%, %point%, %degrees%)"},
	{"piece", "mirror(%piece%, %point%, %point%)"},
	{"piece", "lay(%piece%, %point%, %point%, %point%, %point%, over = %bool%)"}, {"piece", "unfold(%piece%, %edge%)"},
	{"piece", "turned_over(%piece%)"},
	{"piece", "redraw(%piece%, hem = %path%)"}, {"piece", "redraw(%piece%, side = %path%, hem = %path%)"},
	{"piece", "drop(%piece%, %edge%, side = %mm%)"},
	{"piece", "drop(%piece%, %edge%, shoulder = %mm%, centre_front = %mm%)"},
	{"piece", "drop(%piece%, \"hem\", side = %mm%, centre_back = %mm%)"},
	{"piece", "level_to(%piece%, %edge%, %mm%, %edge%)"}, {"piece", "lengthen(%piece%, %point%, %mm%)"},
	{"piece", "slash(%piece%, %spot%, %spot%, %mm%, hinge = %mm%)"},
	{"piece", "spread(%piece%, %edge%, %edge%, %mm%, slashes = %count%, hinge = %mm%)"},
	{"piece", "flare(%piece%, %edge%, %edge%, %mm%, %mm%)"},
	{"piece", "bias_drop(%piece%, %edge%, %part%, %guide%)"}, {"piece", "godet(%name%, \"Godet\", %mm%, %mm%)"},
	{"piece", "true_up(%piece%, %edge%)"}, {"piece", "extend(%piece%, %edge%, %mm%, \"keep\")"},
	{"piece", "fold_out(%piece%, %edge%, %mm%, \"keep\")"},
	{"piece", "move_dart(%piece%, %dart%, %edge%, part = %part%)"},
	{"piece", "move_dart(%piece%, %dart%, %edge%, at = %mm%, about = %point%)"},
	{"piece", "ease_dart(%piece%, %dart%, over = %mm%)"}, {"piece", "taper(%piece%, %edge%, %mm%, square = %mm%)"},
	{"piece", "undart(%piece%, %dart%, fold = %mm%)"}, {"piece",
		"dart(%piece%, \"new_dart\", %edge%, %mm%, %mm%, %point%)"},
	{"piece", "cut(%piece%, %path%, [%name%, %name%], \"cut\")[0]"},
	{"piece", "cut(%piece%, %path%, [%name%, %name%], \"cut\", through = [%dart%], other = %path%)[1]"},
	{"piece", "cut(%piece%, %path%, [%name%, %name%], \"cut\", close = [%dart%])[0]"},
	{"piece", "cut(%piece%, %path%, [%name%, %name%], \"cut\", close = [%dart%, \"new_dart\"])[1]"},
	{"piece", "join(%piece%, %edge%, %piece%, %edge%)"}, {"piece", "split(%piece%, %edge%, %mm%, %edge%, %edge%)"},
	{"piece", "copy(%piece%, %name%, \"A title\")"},
	{"piece", "band(%name%, \"Band\", %mm%, %mm%, doubled = %bool%)"},
	{"piece", "facing(%piece%, %edges%, %name%, \"Facing\", width = %mm%)"},
	{"piece", "facing(%piece%, %edge%, %name%, \"Facing\", inner = %path%)"},
	{"piece", "binding(%name%, \"Binding\", %mm%, %mm%)"},
	{"piece", "stand(%name%, \"Stand\", %mm%, %mm%, %mm%)"}, {"piece", "collar(%name%, \"Collar\", %mm%, %mm%, %mm%)"},
	{"piece", "patch_pocket(%name%, \"Pocket\", %mm%, %mm%, point = %mm%)"},
	{"piece", "place_pocket(%piece%, %piece%, %point%)"},
	{"piece", "place_pocket(%piece%, %piece%, %point%, along = %path%)"},
	{"piece", "seam_pocket(%piece%, %piece%, %name%, \"Bag\", %mm%, %mm%, edge = %edge%)[0]"},
	{"piece", "slant_pocket(%piece%, %name%, \"Pocket\", %mm%, %mm%, %mm%, waist = %edge%, side = %edge%)[0]"},
	{"piece", "gusset(%name%, \"Gusset\", %mm%, %mm%, back = %mm%)"}, {"piece", "gusset(%name%, \"Gusset\", %mm%, %mm%)"},
	{"piece", "gusset_slit(%piece%, %edge%, %mm%, %mm%, %name%, %edge%, opening = %mm%)"},
	{"piece", "pocket_bag(%name%, \"Bag\", %mm%)"}, {"piece", "lining(%piece%, %name%, \"Lining\")"},
	{"piece", "piece(%name%, \"Piece\", hem = %path%, side = %path%)"},
	{"piece", "piece(%name%, \"Piece\", hem = line(*%points%), side = line(*%points%), top = %path%)"},
	{"piece", "allow(%piece%, hem = %mm%)"}, {"piece", "role(%piece%, side = %role%)"},
	{"piece", "on_fold(%piece%, %edge%)"}, {"piece", "off_fold(%piece%, %edge%)"},
	{"piece", "cutting(%piece%, count = %count%, pair = %bool%, interfacing = %count%)"},
	{"piece", "notch(%piece%, %edge%, %mm%, double = %bool%)"},
	{"piece", "zip_opening(%piece%, %edge%, %mm%, allowance = %mm%)"},
	{"piece", "rib_band(%name%, \"Rib\", %mm%, %mm%, share = %part%, passes = %mm%, half = %bool%, plain = %bool%)"},
	{"piece", "clear_notches(%piece%, %edge%)"}, {"piece", "drill(%piece%, \"hole\", %point%)"},
	{"piece", "draw(%piece%, \"keep\", %path%)"}, {"piece", "grain(%piece%, %direction%)"},
	{"piece", "waistband(%name%, \"Waistband\", %mm%, %mm%, left = %mm%, right = %mm%)"},
	{"piece", "grain(%piece%, %direction%, through = %point%)"},
	{"piece", "extend(block.front, \"centre_front\", 20, \"centre\")"},
	{"piece", "lapel(%piece%, %mm%)"}, {"piece", "lapel(%piece%, -330, width = %mm%, gorge = %mm%, step = %mm%)"},
	{"piece", "shawl(%piece%, block.back, -330, fall = %mm%, width = %mm%)"},
	{"piece", "shawl(%piece%, %piece%, %mm%, stand = %mm%)"},
	{"piece", "roll_collar(%piece%, block.back, %name%, \"Collar\", point = %mm%, notch = %degrees%)"},
	{"piece", "roll_collar(%piece%, %piece%, %name%, \"Collar\", stand = %mm%, fall = %mm%)"},
	{"piece", "turn_of_cloth(%piece%, %edges%, %mm%)"}, {"piece", "turn_of_cloth(%piece%, %edge%)"},
	{"piece", "hood(%name%, \"Hood\", %mm%, %mm%, %mm%)"}, {"piece", "vent(%piece%, %edge%, %mm%, %mm%)"},
	{"piece", "slit(%piece%, \"slit\", %edge%, %mm%, %mm%)"}, {"piece", "placket(%mm%, %mm%)[0]"},
	{"piece", "set_pocket(%piece%, \"pocket\", \"Pocket\", \"flaps\", %point%, %mm%, slope = %degrees%)[0]"},
	{"piece", "set_pocket(%piece%, \"pocket\", \"Pocket\", \"welt\", %point%, %mm%, depth = %mm%, bag = %mm%)[1][0]"},
	{"piece", "set_pocket_over(%piece%, %piece%, %edge%, \"pocket\", \"Pocket\", \"jets\", %point%, %mm%, " +
		"slope = %degrees%)[1]"},
	{"piece", "buttonholes(%piece%, %path%, %mm%, %mm%, %count%, size = %mm%, lengthwise = %bool%)[0]"},
	{"piece", "inner_dart(%piece%, \"new_dart\", %point%, %mm%, %mm%, %mm%)"},
	{"piece", "lining(%piece%, %name%, \"Lining\", shorter = %mm%, pleat = %mm%)"},
	{"piece", "two_piece_sleeve(%piece%, %mm%, %mm%)[0]"},
	{"piece", "pleat(%piece%, \"new_dart\", %edge%, %mm%, %mm%, %mm%)"},
	{"piece", "pleats(%piece%, \"p\", %edge%, %mm%, \"knife\", %count%, foot = %mm%, down_to = %edge%)"},
	{"piece", "pleats(%piece%, \"p\", %edge%, %mm%, \"box\", distance = %mm%, width = %mm%, start = %mm%, end = %mm%)"},
	{"piece", "pleats(%piece%, \"p\", %edge%, 40, \"box\", %count%, halved = \"both\", down_to = %edge%)"},
	{"piece", "pleats(%piece%, \"p\", %edge%, 60, \"inverted\", %count%, down_to = %edge%)"},
	{"piece", "pleats(%piece%, \"p\", %edge%, 60, \"inverted\", distance = %mm%, halved = \"start\")"},
	{"piece", "sunray(%piece%, \"ray\", %edge%, %edge%, %count%, %mm%)"},
	{"number", "stride(body, %mm%)"}, {"number", "length(%piece%, %edge%)"}, {"number", "width(%piece%, %mm%)"},
	{"number", "distance_along(%path%, %point%)"}, {"number", "intake(%piece%, %dart%)"},
}

// fill puts values in for the types of a form.
func (g *program) fill(form string) string {
	for {
		i := strings.IndexByte(form, '%')
		if i < 0 {
			return form
		}
		j := i + 1 + strings.IndexByte(form[i+1:], '%')
		form = form[:i] + g.value(form[i+1:j]) + form[j+1:]
	}
}

const probeHead = "style(slug = \"probe\", title = \"Probe\", block = \"torso\")\ndef make(body, ease, choose, " +
	"block):\n    "

// write returns the script: up to a number of lines, each kept if works says that the
// script runs as far as it, then a garment of two of its pieces.
func (g *program) write(works func(script string) bool) string {
	g.names = map[string][]string{"piece": {"block.back", "block.front", "block.sleeve"}}
	for n := 0; len(g.data) > 8 && n < 40; n++ {
		v := fuzzVerbs[int(g.byte())%len(fuzzVerbs)]
		name := fmt.Sprintf("v%d", n)
		line := name + " = " + g.fill(v.form)
		if !works(probeHead + strings.Join(append(g.lines[:len(g.lines):len(g.lines)], line, "return None"), "\n    ") +
			"\n") {
			continue
		}
		g.lines = append(g.lines, line)
		g.names[v.gives] = append(g.names[v.gives], name)
	}
	seams := ""
	pieces := g.names["piece"]
	last, other := pieces[len(pieces)-1], g.pick(pieces)
	if g.byte()%2 == 0 {
		seams = fmt.Sprintf("seam(\"a/\" + %s.edges[0], \"b/\" + %s.edges[-1], ease = length(%s, %s.edges[0]) - "+
			"length(%s, %s.edges[-1]))", last, other, last, last, other, other)
	}
	g.lines = append(g.lines,
		fmt.Sprintf("return garment([copy(%s, \"a\", \"A\"), copy(%s, \"b\", \"B\")], [%s], [\"Sew.\"])", last, other, seams))
	return probeHead + strings.Join(g.lines, "\n    ") + "\n"
}

// tryProgram writes and runs a program, and holds what comes of it to the
// rules: a draft that keeps every one of them, or one error that says where.
func tryProgram(t *testing.T, b body.Body, data []byte) (drafted bool) {
	draft := func(script string) (pattern.Pattern, error) {
		s, err := style.Compile([]byte(script))
		if err != nil {
			t.Fatalf("%v\n%s", err, script)
		}
		p, err := s.Draft(context.Background(), block.Request{Body: b, Fit: "regular"})
		if err == nil {
			return p, nil
		}
		if _, refused := errors.AsType[fault.List](err); refused {
			return p, err // a pocket or a gusset without room refuses the body
		}
		if e, ok := errors.AsType[*style.Error](err); !ok || e.Reason == "" || e.Line == 0 ||
			strings.Contains(e.Reason, "\n") {
			t.Fatalf("error %T %+v\n%s", err, err, script)
		}
		return p, err
	}
	g := program{data: data}
	script := g.write(func(script string) bool {
		_, err := draft(script)
		e, ok := errors.AsType[*style.Error](err)
		return ok && strings.Contains(e.Reason, "want garment")
	})
	p, err := draft(script)
	if err != nil {
		return false
	}
	if broken := p.Validate(); broken != nil {
		t.Fatalf("%v\n%s", broken, script)
	}
	// Finishing may only refuse an allowance that is too wide for the shape.
	_, _ = finish.Finish(context.Background(), p, finish.Rules{})
	return true
}

// TestRandomPrograms runs programs from a fixed seed; TAPELINE_PROGRAMS says
// how many.
func TestRandomPrograms(t *testing.T) {
	t.Parallel()
	many := 60
	if n, err := strconv.Atoi(os.Getenv("TAPELINE_PROGRAMS")); err == nil {
		many = n
	}
	b := person(t)
	rng := rand.New(rand.NewPCG(11, 12))
	drafted := 0
	for range many {
		data := make([]byte, 500)
		for i := range data {
			data[i] = byte(rng.Uint32())
		}
		if tryProgram(t, b, data) {
			drafted++
		}
	}
	t.Logf("%d of %d programs gave a garment", drafted, many)
}

// FuzzVerbs is the same from bytes that the fuzzer makes up. Shortening what it
// finds of interest would take it all its time:
//
//	go test ./drafting/style -run - -fuzz FuzzVerbs -fuzztime 5m -fuzzminimizetime 10x
func FuzzVerbs(f *testing.F) {
	for i := range 8 {
		seed := make([]byte, 300)
		for k := range seed {
			seed[k] = byte(k*(2*i+3) + i*i*7)
		}
		f.Add(seed)
	}
	b := person(f)
	f.Fuzz(func(t *testing.T, data []byte) { tryProgram(t, b, data) })
}
