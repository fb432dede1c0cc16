package drafting_test

import (
	"errors"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/style"
)

// own is a style that is not built in, or one of a built-in's slug.
func own(t *testing.T, slug string) *style.Style {
	t.Helper()
	s, err := style.Compile([]byte(strings.ReplaceAll(`
style(slug = "SLUG", title = "Own", block = "torso", draft = {"sleeve": "none"},
    choices = [choice("vent", "Open at the back.")], allowances = {"default": 10})
def make(body, ease, choose, block):
    return garment([block.back, block.front], [seam("back/side", "front/side"), seam("back/shoulder", "front/shoulder",
        ease = length(block.back, "shoulder") - length(block.front, "shoulder"), how = "eased")], ["Sew the sides."])
`, "SLUG", slug)))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// An order may name a style that is handed in, and that comes before a built-in
// one of its slug.
func TestOrderForAnOwnStyle(t *testing.T) {
	t.Parallel()
	for _, slug := range []string{"work-vest", "shift-dress"} {
		file := strings.Replace(string(readFile(t, "torso.json")), `"block": "torso"`, `"style": "`+slug+`"`, 1)
		file = file[:strings.Index(file, `"choices"`)] + `"choices": {"vent": true}}`
		o, err := ordertest.Parse([]byte(file), own(t, slug))
		if err != nil {
			t.Fatal(err)
		}
		p, err := drafting.Draft(t.Context(), o)
		if err != nil || !strings.HasPrefix(p.Style, "Own, ") {
			t.Errorf("%s: drafted %q, %v", slug, p.Style, err)
		}
		_, err = ordertest.Parse([]byte(strings.Replace(file, "vent", "went", 1)), own(t, slug))
		if faults, ok := errors.AsType[fault.List](err); !ok || faults[0].Field != "/choices/went" ||
			!strings.Contains(faults[0].Accepted, "vent") {
			t.Errorf("%s: %v", slug, err)
		}
	}
}
