package style_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

const head = `style(slug = "probe", title = "Probe", block = "straight", draft = {"sleeve": "none"})
`

// inMake is a script whose make does what is given.
func inMake(lines string) string {
	return head + "def make(body, ease, choose, block):\n    " + strings.ReplaceAll(lines, "\n", "\n    ") + "\n"
}

func person(t testing.TB) body.Body {
	t.Helper()
	spec, _ := block.Find("straight")
	b, faults := body.New(standard, spec.Requires)
	if faults != nil {
		t.Fatal(faults)
	}
	return b
}

// runScript compiles and drafts a script.
func runScript(t testing.TB, script string) (pattern.Pattern, error) {
	t.Helper()
	s, err := style.Compile([]byte(script))
	if err != nil {
		return pattern.Pattern{}, err
	}
	return s.Draft(context.Background(), block.Request{Body: person(t), Fit: s.Head.Fits[0].Name})
}

// wantScriptError holds an error to be the one clear error of a script at a line.
func wantScriptError(t *testing.T, err error, line int, why string) {
	t.Helper()
	e, ok := errors.AsType[*style.Error](err)
	if !ok {
		t.Fatalf("error %T %v, want a *style.Error", err, err)
	}
	if e.Line != line || !strings.Contains(e.Reason, why) || strings.Contains(e.Error(), "·") {
		t.Errorf("got %q at line %d, want %q at line %d", e.Reason, e.Line, why, line)
	}
	if len(e.Error()) > 600 {
		t.Errorf("an error of %d bytes", len(e.Error()))
	}
}

// nest repeats an opening and a closing bracket n times around inner.
func nest(open, inner, closing string, n int) string {
	return strings.Repeat(open, n) + inner + strings.Repeat(closing, n)
}

var hostileScripts = []struct {
	name, script string
	line         int
	reason       string
}{
	{"a loop that runs on", inMake("for i in range(1000000000):\n    x = i\nreturn None"), 3,
		"steps: check that loops end"},
	{"loops in loops", inMake("n = 0\nfor a in range(10000):\n    for b in range(10000):\n        n += 1\n"), 6,
		"steps: check that loops end"},
	{"recursion", head + "def f(n):\n    return f(n + 1)\ndef make(body, ease, choose, block):\n    return f(0)\n", 3,
		"called recursively"},
	{"recursion by a lambda", inMake("f = [None]\nf[0] = lambda: f[0]()\nreturn f[0]()"), 4, "called recursively"},
	{"a giant string", inMake(`x = "a" * 1000000000`), 3, "repeated"},
	{"a string doubled", inMake("x = \"ab\"\nfor i in range(60):\n    x = x + x\n"), 5, "a string or list of"},
	{"a string doubled in place", inMake("x = \"ab\"\nfor i in range(60):\n    x += x\n"), 5, "a string or list of"},
	{"many strings", inMake("l = []\nfor i in range(100000):\n    l.append(\"%s%d\" % (\"x\" * 10000, i))\n"), 5,
		"MB of strings"},
	{"a giant list", inMake("x = [0] * 1000000000"), 3, "repeated"},
	{"a list doubled", inMake("x = [1]\nfor i in range(60):\n    x = x + x\n"), 5, "a string or list of"},
	{"a list doubled in place", inMake("x = [1]\nfor i in range(60):\n    x += x\n"), 5, "a string or list of"},
	{"a list of a range", inMake("x = list(range(1000000000))"), 3, "more than 20000 entries"},
	{"a list sorted", inMake("x = sorted(range(1000000000))"), 3, "more than 20000 entries"},
	{"a list cut again and again", inMake("x = list(range(9000))\nl = []\nfor i in range(100000):\n    l.append(x[:])\n"),
		6, "MB of strings"},
	{"a list appended to", inMake("x = []\nfor i in range(1000000):\n    x.append(i)\n"), 5, "a list of more than"},
	{"keys of a dict", inMake("d = {}\nfor i in range(1000000000):\n    d[i] = i\n"), 4, "steps: check that loops end"},
	{"items again and again", inMake("d = {i: i for i in range(9000)}\nf = d.items\nfor i in range(1000000):\n    f()\n"),
		6, "MB of strings"},
	{"a giant whole number", inMake("x = 3\nfor i in range(60):\n    x = x * x\n"), 5, "whole number of more than"},
	{"shifted", inMake("x = 1 << 500"), 3, "bit operations"},
	{"lists nested and compared",
		inMake("a = [0] * 100\nfor i in range(30):\n    a = [a] * 100\nb = [0] * 100\nfor i in range(30):\n    b = [b] * " +
			"100\nx = a == b\n"), 9, "nested too deep"},
	{"tuples nested as a key", inMake("t = (0, 0)\nfor i in range(60):\n    t = (t, t)\nd = {t: 1}\n"), 6,
		"nested too deep"},
	{"tuples nested as an index", inMake("t = (0, 0)\nfor i in range(60):\n    t = (t, t)\nd = {}\nd[t] = 1\n"), 7,
		"nested too deep"},
	{"tuples nested and asked for", inMake("t = (0, 0)\nfor i in range(60):\n    t = (t, t)\nd = {}\nd.get(t)\n"), 7,
		"nested too deep"},
	{"lists nested and written", inMake("a = [0]\nfor i in range(60):\n    a = [a, a]\nx = \"%s\" % a\n"), 6,
		"nested too deep"},
	{"a list written", inMake("x = str([1, 2])"), 3, "only numbers and strings"},
	{"arguments spread", inMake("def f(*a): return a\nx = list(range(9000))\nl = []\nfor i in range(100000):\n    " +
		"l.append(f(*x))\n"), 7, "MB of strings"},
	{"a string joined", inMake("x = \"a\".join([\"b\"] * 100)"), 3, "no .join"},
	{"a string replaced", inMake("x = (\"a\" * 10000).replace(\"a\", \"b\" * 10000)"), 3, "no .replace"},
	{"a string formatted", inMake("x = \"{}\".format(1)"), 3, "no .format"},
	{"brackets", inMake("x = " + nest("[", "", "]", 5000)), 3, "brackets nested"},
	{"minus signs", inMake("x = " + strings.Repeat("-", 60000) + "1"), 3, "nest"},
	{"not not not", inMake("x = " + strings.Repeat("not ", 20000) + "1"), 3, "nest"},
	{"a long sum", inMake("x = " + strings.Repeat("1 + ", 20000) + "1"), 3, "expressions nested"},
	{"lambdas", inMake("x = " + strings.Repeat("lambda: ", 15000) + "1"), 3, "nest"},
	{"conditions", inMake("x = " + strings.Repeat("1 if 1 else ", 10000) + "1"), 3, "nest"},
	{"points without end", inMake("l = []\nfor i in range(100000):\n    l.append(point(i, i))\n"), 4,
		"steps: check that loops end"},
	{"strokes without end",
		inMake("p = line(*[point(i, i % 2) for i in range(500)])\nfor i in range(1000):\n    q = shift(p, right = 1)\n"), 5,
		"steps: check that loops end"},
	{"a path without end", inMake("p = line(point(0, 0), point(1, 1))\nfor i in range(30):\n    p = p + p\n"), 5,
		"strokes"},
	{"pieces without end", inMake("p = block.back\nfor i in range(100000):\n    p = shift(p, right = 1)\n"), 5, "more"},
	{"many notches", inMake("p = block.back\nfor i in range(2000):\n    p = notch(p, \"hem\", 5)\n"), 5,
		"151 notches of a piece; at most 150"},
	{"crossings without end",
		inMake("a = line(*[point(i % 2 * 100, i) for i in range(500)])\nb = line(point(-50, 498), *[point(3000 + i, " +
			"i % 2 * 100) for i in range(500)])\nfor i in range(1000):\n    meet(a, b)\n"), 6,
		"steps: check that loops end"},
	{"requirements without end", inMake("for i in range(1000):\n    caution(\"no\")\n"), 4, "more than 50"},
	{"load", head + "load(\"x.star\", \"y\")\n" + "def make(body, ease, choose, block): return None\n", 2,
		"load is not available"},
	{"while", inMake("while True:\n    pass"), 3, "while is not available"},
	{"print at the top", head + "print(1)\n" + "def make(body, ease, choose, block): return None\n", 2,
		"print: nothing is drafted at the top"},
	{"print of a list in itself", inMake("l = []\nl.append(l)\nprint(l)"), 5, "nested too deep"},
	{"print without end", inMake("for i in range(100000):\n    print(\"a\" * 10000)\n"), 4, "MB of strings"},
	{"an attribute set", inMake("block.back = 1"), 3, "cannot assign to a field"},
	{"a division by zero", inMake("x = 1 / 0"), 3, "division by zero"},
	{"not a number", inMake(`x = point(float("nan"), 0)`), 3, "want a number from"},
	{"an endless number", inMake(`x = point(float("inf"), 0)`), 3, "want a number from"},
	{"nothing returned", inMake("pass"), 2, "want garment"},
	{"a piece returned", inMake("return block.back"), 2, "want garment"},
	{"a syntax error", head + "def make(body, ease, choose, block:\n    return 1\n", 2, "got ':'"},
	{"an unknown name", inMake("x = frobnicate(1)"), 3, "undefined: frobnicate"},
	{"no make", head, 1, "no function make"},
	{"make of two", head + "def make(a, b): return None\n", 1, "no function make"},
	{"no head", "def make(body, ease, choose, block): return None\n", 1, "declares no style"},
	{"two heads", head + head + "def make(body, ease, choose, block): return None\n", 2, "called twice"},
	{"a head while drafting", inMake(head), 3, "while drafting"},
	{"an unknown measurement", inMake("x = body.head_girth"), 0, ""},
	{"no such measurement", inMake("x = body.nose_length"), 3, "unknown measurement"},
	{"a verb misused", inMake("x = drop(block.back, 12)"), 3, "drop"},
	{"no such edge", inMake("x = length(block.back, \"collar\")"), 3, "it has"},
	{"a waistband of nothing", inMake("x = waistband(\"w\", \"W\", 35, 30)"), 3, "waistband: 0 parts"},
	{"a waistband's part with another's name", inMake("x = waistband(\"w\", \"W\", 35, 30, top = 400)"), 3,
		"an edge of the band"},
	{"a waistband of no depth", inMake("x = waistband(\"w\", \"W\", 0, 30, left = 400)"), 3, "depth 0.0 mm"},
	{"a step of no body", inMake("x = stride(choose, 500)"), 3, "stride: hip_girth is unknown"},
	{"a step of a string", inMake("x = stride(\"body\", 500)"), 3, "stride"},
	{"a line drawn twice",
		inMake("p = draw(block.back, \"fold\", line(point(20, 60), point(60, 60)))\np = draw(p, \"fold\", line(point(20, " +
			"80), point(60, 80)))"), 4, "already has a line fold"},
	{"a grain outside", inMake("x = grain(block.back, \"down\", through = point(-500, 0))"), 3, "a point inside"},
	{"no such verb argument", inMake("x = point(1, 2, 3)"), 3, "point"},
}

// A script that does not end, or grows, stops with one error at its line, soon
// and without taking memory.
func TestHostileScripts(t *testing.T) {
	for _, tt := range hostileScripts {
		t.Run(tt.name, func(t *testing.T) {
			start := time.Now()
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := runScript(t, tt.script)
			runtime.ReadMemStats(&after)
			if tt.name == "an unknown measurement" { // the standard body has its head measured
				if err == nil {
					t.Error("no garment, no error")
				}
				return
			}
			wantScriptError(t, err, tt.line, tt.reason)
			if took := after.TotalAlloc - before.TotalAlloc; took > 600<<20 {
				t.Errorf("%d MB allocated", took>>20)
			}
			t.Logf("%v: %v", time.Since(start).Round(time.Millisecond), err)
		})
	}
}

// The faults of an upload are reported before anything runs.
func TestUploads(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, script, why string }{
		{"more than 20000 entries", strings.Repeat("# \n", 60000), "at most"},
		{"not UTF-8", "x = \"\xff\"", "not UTF-8"},
		{"empty", "", "declares no style"},
		{"binary", "\x00\x01\x02", "an invisible character"},
	} {
		_, err := style.Compile([]byte(tt.script))
		e, ok := errors.AsType[*style.Error](err)
		if !ok || !strings.Contains(e.Reason, tt.why) {
			t.Errorf("%s: %v, want %q", tt.name, err, tt.why)
		}
	}
}

// A head is checked whole.
func TestHeads(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ head, why string }{
		{`style(slug = "Bad Slug", title = "T", block = "torso")`, "slug"},
		{`style(slug = "torso", title = "T", block = "torso")`, "a block has this name"},
		{`style(slug = "a", title = "", block = "torso")`, "title"},
		{`style(slug = "a", title = "T", block = "tent")`, "want one of"},
		{`style(slug = "a", title = "T", block = "torso", draft = {"sleeves": "none"})`, `no choice "sleeves"`},
		{`style(slug = "a", title = "T", block = "torso", draft = {"sleeve": "puffed"})`, "want one of"},
		{`style(slug = "a", title = "T", block = "torso", draft = {"length": 5000})`, "5000"},
		{`style(slug = "a", title = "T", block = "torso", draft = {"ease": {"nose": 5}})`, `no ease "nose"`},
		{`style(slug = "a", title = "T", block = "torso", measures = ["nose_length"])`, "unknown measurement"},
		{`style(slug = "a", title = "T", block = "torso", fits = [fit("x", like = "tight")])`, `no fit "tight"`},
		{`style(slug = "a", title = "T", block = "torso", fits = [fit("x"), fit("x")])`, "declared twice"},
		{`style(slug = "a", title = "T", block = "torso", fits = [fit("x", nose_girth = 5)])`, `no ease "nose_girth"`},
		{`style(slug = "a", title = "T", block = "torso", choices = [choice("x", "help"), choice("x", "help")])`,
			"declared twice"},
		{`style(slug = "a", title = "T", block = "torso", choices = [choice("x", "help", length = (5, 2), default = 3)])`,
			"limits"},
		{`style(slug = "a", title = "T", block = "torso", choices = [choice("x", "help", length = (2, 5))])`,
			"requires a default"},
		{`style(slug = "a", title = "T", block = "torso", choices = [choice("x", "help", length = (2, 5), default = 9)])`,
			"not among"},
		{`style(slug = "a", title = "T", block = "torso", choices = [choice("x", "help", options = ["a"], default = "b")])`,
			"want one of"},
		{`style(slug = "a", title = "T", block = "torso", choices = [choice("x", "help", count = (1, 5), default = 2.5)])`,
			"not among"},
		{`style(slug = "a", title = "T", block = "torso", choices = [choice("x", "")])`, "help"},
		{`style(slug = "a", title = "T", block = "torso", allowances = {"sides": 10})`, "want one of"},
		{`style(slug = "a", title = "T", block = "torso", allowances = {"seam": 900})`, "want 0 to"},
	} {
		_, err := style.Compile([]byte(tt.head + "\ndef make(body, ease, choose, block): return None\n"))
		e, ok := errors.AsType[*style.Error](err)
		if !ok || !strings.Contains(e.Reason, tt.why) {
			t.Errorf("%s\n\t%v, want %q", tt.head, err, tt.why)
		}
	}
}

// A cancelled context ends a script within 100 ms with its error, whether the
// script loops or calls verbs that work hard.
func TestDraftCancelled(t *testing.T) {
	for _, tt := range []struct{ name, script string }{
		{"a loop", "for i in range(1000000000):\n    x = i\n"},
		{"a dict filled", "d = {}\nfor i in range(1000000000):\n    d[i] = i\n"},
		{"verbs", "for i in range(100000):\n    p = spread(block.back, \"hem\", \"shoulder\", 240, slashes = 60)\n"},
		{"crossings", `a = line(*[point(i % 2 * 100, i) for i in range(300)])
b = line(*[point(i, i % 2 * 100) for i in range(300)])
for i in range(100000):
    meet(a, b)
`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := style.Compile([]byte(inMake(tt.script)))
			if err != nil {
				t.Fatal(err)
			}
			for range 20 {
				ctx, cancel := context.WithCancel(t.Context())
				var cancelled time.Time
				timer := time.AfterFunc(time.Millisecond, func() {
					cancelled = time.Now()
					cancel()
				})
				_, err := s.Draft(ctx, block.Request{Body: person(t), Fit: "regular"})
				if timer.Stop() {
					continue // the script reached its limits first
				}
				<-ctx.Done()
				took := time.Since(cancelled)
				if !errors.Is(err, context.Canceled) {
					continue // the script reached its limits in the same moment
				}
				if took < 100*time.Millisecond {
					return
				}
				t.Logf("Draft returned %v after it was cancelled; other work may have held the processor", took)
			}
			t.Error("Draft never returned within 100 ms of being cancelled")
		})
	}
}

// Requirements that do not hold refuse the order, all of them, even where the
// script fails for the same reason afterwards.
func TestRequirements(t *testing.T) {
	t.Parallel()
	_, err := runScript(t, inMake(`require(body.waist_girth > 9000, "waist %s" % mm(body.waist_girth),
    about = ["waist_girth"])
require(False, "no length", about = ["length", "hip_girth"])
require(True, "holds")
caution("mind the fire")
x = length(block.back, "collar")`))
	list, ok := errors.AsType[fault.List](err)
	if !ok || len(list) != 3 {
		t.Fatalf("error %v", err)
	}
	if list[0].Field != "/measurements/waist_girth" || list[0].Accepted != "waist 760 mm" ||
		list[0].Code != fault.Undraftable {
		t.Errorf("%+v", list[0])
	}
	if list[1].Field != "/choices/length" || list[2].Field != "/measurements/hip_girth" {
		t.Errorf("%+v", list)
	}
	for _, bad := range []string{`require(False, "")`, `require(False, "x", weight = "maybe")`, `check("x", 10, 12)`} {
		if _, err := runScript(t, inMake(bad)); err == nil {
			t.Errorf("%s: no error", bad)
		}
	}
}

// What a garment breaks of the rules is said with piece and edge.
func TestRulesOfAGarment(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, lines string
		line        int
		piece, why  string
	}{
		{"seams that do not match", `back = drop(block.back, "hem", side = 30)
return garment([back, block.front], [seam("back/side", "front/side")], ["sew"])`, 4, "back", "off by"},
		{"a seam to nothing", `return garment([block.back], [seam("back/side", "front/side")], ["sew"])`, 3, "back",
			`no piece "front"`},
		{"a piece that crosses itself", `p = piece("p", "P", a = line(point(0, 0), point(100, 0), point(100, 100),
    point(-50, 100), point(50, -50)), b = line(point(50, -50), point(0, 200), point(0, 0)))
return garment([p], [], ["sew"])`, 2, "p", "crosses itself"},
		{"two pieces of one name", `return garment([block.back, block.back], [], ["sew"])`, 2, "back", "two pieces"},
		{"no title", `return garment([copy(block.back, "b", "")], [], ["sew"])`, 2, "b", "no title"},
		{"walked the wrong way",
			`p = piece("p", "P", a = line(point(0, 0), point(0, 100), point(100, 100)), b = line(point(100, 100), point(0, 0)))`,
			3, "", "clockwise"},
		{"a path that misses", `p = redraw(block.back, hem = line(point(900, 900), point(0, 900)))`, 3, "back", "off"},
	} {
		_, err := runScript(t, inMake(tt.lines))
		wantScriptError(t, err, tt.line, tt.why)
		if e, _ := errors.AsType[*style.Error](err); e != nil && e.Piece != tt.piece {
			t.Errorf("%s: piece %q, want %q", tt.name, e.Piece, tt.piece)
		}
	}
}

// The same request gives the same pattern, also from many goroutines at once.
func TestDeterministic(t *testing.T) {
	t.Parallel()
	s, _ := style.Builtin("princess-dress")
	spec := s.Spec()
	b, faults := body.New(standard, spec.Requires)
	if faults != nil {
		t.Fatal(faults)
	}
	results := make(chan string, 8)
	for range 8 {
		go func() {
			p, err := s.Draft(context.Background(), block.Request{Body: b, Fit: spec.Fits[0].Name})
			pieces, _ := json.Marshal(p.Pieces)
			results <- fmt.Sprintf("%v %s", err, pieces)
		}()
	}
	first := <-results
	for range 7 {
		if got := <-results; got != first {
			t.Fatal("two drafts differ")
		}
	}
}
