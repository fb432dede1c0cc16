package style

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/finish"
)

// A Head is what a style says of itself before anything is drafted.
type Head struct {
	Slug     string
	Title    string
	About    string // one or two sentences
	Block    string
	Measures []body.Name // needed besides the block's
	Fits     []Fit       // the first is the default
	Choices  []block.Choice
	Fabrics  []string
	Cautions []string

	// Allowances are mm by role or "default".
	Allowances map[string]float64

	draft starlark.Value // a dict of the block's choices, or a function that gives one; nil for none
}

// A Fit is a table of ease: that of the block's fit Like, with Ease over it.
type Fit struct {
	Name string
	Like string
	Help string
	Ease map[string]float64 // mm
}

var headVerbs = []Verb{
	{"Head", `style(slug, title, block, about="", draft={}, measures=[], fits=[], choices=[], fabrics=[], cautions=[], allowances={})`,
		`What the style is. block is the block it starts from, and draft the block's own choices: a dict, or a function of (body, ease, choose) that returns one; its entry "ease" may hold a dict of ease over the fit's. measures names measurements needed besides the block's. allowances are mm by kind of edge: seam, hem, neckline, armhole, cap, edge, default.`,
		declareStyle},
	{"Head", `fit(name, like="", help="", ease=mm, ...)`,
		`A fit: the block's fit like, or its first, with the ease named laid over it: fit("loose", like="regular", bust_girth=140).`,
		declareFit},
	{"Head", `choice(name, help, options=None, length=None, count=None, fraction=None, default=None)`,
		`What an order may choose. options is a list of words; length, count and fraction are (least, most), a length in mm, and a length may have words beside it; without any of them it is yes or no. The default is the first word, or False, and must be given for a number.`,
		declareChoice},
}

// declared is a fit or a choice on its way into the head.
type declared[T any] struct{ value T }

func (declared[T]) String() string        { return "declaration" }
func (declared[T]) Type() string          { return "declaration" }
func (declared[T]) Freeze()               {}
func (declared[T]) Truth() starlark.Bool  { return true }
func (declared[T]) Hash() (uint32, error) { return 0, errors.New("a declaration can't be a key") }

func declareStyle(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	h := &Head{}
	var fits, choices starlark.Indexable = starlark.Tuple{}, starlark.Tuple{}
	var measures, fabrics, cautions names
	var allowances *starlark.Dict
	var draft starlark.Value
	if err := starlark.UnpackArgs("style", args, kwargs, "slug", &h.Slug, "title", &h.Title, "block", &h.Block, "about?", &h.About,
		"draft?", &draft, "measures?", &measures, "fits?", &fits, "choices?", &choices, "fabrics?", &fabrics, "cautions?", &cautions, "allowances?", &allowances); err != nil {
		return nil, err
	}
	if r.making {
		return nil, errors.New("style: called while drafting; it stands at the top of the script")
	}
	if r.heads++; r.heads > 1 {
		return nil, errors.New("style: called twice")
	}
	switch draft.(type) {
	case nil, *starlark.Dict, *starlark.Function:
		h.draft = draft
	default:
		return nil, fmt.Errorf("style: for parameter draft: got %s, want a dict or a function", draft.Type())
	}
	h.Fabrics, h.Cautions = fabrics, cautions
	for _, m := range measures {
		h.Measures = append(h.Measures, body.Name(m))
	}
	for i := range fits.Len() {
		f, ok := fits.Index(i).(declared[Fit])
		if !ok {
			return nil, fmt.Errorf("style: fits has %s, want fit(...)", fits.Index(i).Type())
		}
		h.Fits = append(h.Fits, f.value)
	}
	for i := range choices.Len() {
		c, ok := choices.Index(i).(declared[block.Choice])
		if !ok {
			return nil, fmt.Errorf("style: choices has %s, want choice(...)", choices.Index(i).Type())
		}
		h.Choices = append(h.Choices, c.value)
	}
	if allowances != nil {
		h.Allowances = map[string]float64{}
		for _, kv := range allowances.Items() {
			name, ok := starlark.AsString(kv[0])
			var v mm
			if err := v.Unpack(kv[1]); err != nil || !ok {
				return nil, fmt.Errorf("style: allowances: %v: %v; want a kind of edge and mm", kv[0], kv[1])
			}
			h.Allowances[name] = float64(v)
		}
	}
	if err := h.check(); err != nil {
		return nil, fmt.Errorf("style: %w", err)
	}
	r.head = h
	return starlark.None, nil
}

// What a head may at most offer: as many choices as an order can name.
const (
	maxChoices = 50
	maxFits    = 20
)

// allowanceKinds are what the head may give an allowance.
var allowanceKinds = []string{"seam", "hem", "neckline", "armhole", "cap", "edge", "default"}

// check says what is wrong with the head, all of it.
func (h *Head) check() error {
	var errs []string
	say := func(format string, args ...any) { errs = append(errs, fmt.Sprintf(format, args...)) }
	if !validSlug(h.Slug) {
		say("slug %q: lower case letters, digits and hyphens, at most 60", h.Slug)
	}
	if _, taken := block.Find(h.Slug); taken {
		say("slug %q: a block has this name", h.Slug)
	}
	if h.Title == "" || len(h.Title) > 80 || strings.ContainsAny(h.Title, "\n\r\t") {
		say("title %q: one line of 1 to 80 bytes", h.Title)
	}
	spec, ok := block.Find(h.Block)
	if !ok {
		var names []string
		for _, s := range block.Specs() {
			names = append(names, s.Name)
		}
		say("block %q: want one of %v", h.Block, names)
	}
	for _, m := range h.Measures {
		if _, known := body.Lookup(m); !known {
			say("measures: no measurement %q", m)
		}
	}
	if len(h.Choices) > maxChoices || len(h.Fits) > maxFits {
		say("%d choices and %d fits; at most %d and %d", len(h.Choices), len(h.Fits), maxChoices, maxFits)
	}
	seen := map[string]bool{}
	for _, c := range h.Choices {
		if seen[c.Name] {
			say("choice %q stands twice", c.Name)
		}
		seen[c.Name] = true
	}
	if ok {
		errs = append(errs, h.checkFits(spec)...)
	}
	for _, name := range slices.Sorted(maps.Keys(h.Allowances)) {
		if !slices.Contains(allowanceKinds, name) {
			say("allowances: %q: want one of %v", name, allowanceKinds)
		}
		if mm := h.Allowances[name]; !(mm >= 0 && mm <= finish.MaxAllowance) {
			say("allowances: %s=%g; from 0 to %g mm", name, mm, finish.MaxAllowance)
		}
	}
	for _, list := range [][]string{h.Fabrics, h.Cautions} {
		for _, s := range list {
			if s == "" || len(s) > 400 {
				say("a text of %d bytes; 1 to 400", len(s))
			}
		}
	}
	if len(errs) > 0 {
		return errors.New(strings.Join(errs, "; "))
	}
	return nil
}

func (h *Head) checkFits(spec block.Spec) []string {
	var errs []string
	if len(h.Fits) == 0 {
		for _, f := range spec.Fits {
			h.Fits = append(h.Fits, Fit{Name: f.Name, Like: f.Name})
		}
		return nil
	}
	seen := map[string]bool{}
	for i := range h.Fits {
		f := &h.Fits[i]
		if seen[f.Name] {
			errs = append(errs, fmt.Sprintf("fit %q stands twice", f.Name))
		}
		seen[f.Name] = true
		if f.Like == "" {
			f.Like = spec.Fits[0].Name
		}
		base := slices.IndexFunc(spec.Fits, func(b block.Fit) bool { return b.Name == f.Like })
		if base < 0 {
			errs = append(errs, fmt.Sprintf("fit %q: the %s block has no fit %q", f.Name, spec.Name, f.Like))
			continue
		}
		for _, name := range slices.Sorted(maps.Keys(f.Ease)) {
			if !slices.ContainsFunc(spec.Fits[base].Ease, func(e block.Ease) bool { return e.Name == name }) {
				errs = append(errs, fmt.Sprintf("fit %q: the %s block has no ease %q", f.Name, spec.Name, name))
			}
		}
	}
	return errs
}

// validSlug: lower case letters, digits and hyphens, a letter first.
func validSlug(s string) bool {
	if s == "" || len(s) > 60 || strings.HasSuffix(s, "-") {
		return false
	}
	for i, c := range s {
		if !(c >= 'a' && c <= 'z' || i > 0 && (c == '-' || c >= '0' && c <= '9')) {
			return false
		}
	}
	return true
}

func declareFit(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	f := Fit{Ease: map[string]float64{}}
	if err := starlark.UnpackPositionalArgs("fit", args, nil, 1, &f.Name); err != nil {
		return nil, err
	}
	if !validName(f.Name) {
		return nil, errBadName(f.Name)
	}
	for _, kv := range kwargs {
		name, _ := starlark.AsString(kv[0])
		if s, ok := starlark.AsString(kv[1]); ok && (name == "like" || name == "help") {
			if name == "like" {
				f.Like = s
			} else {
				f.Help = s
			}
			continue
		}
		var v mm
		if err := v.Unpack(kv[1]); err != nil {
			return nil, fmt.Errorf("fit: for %s: %w", name, err)
		}
		f.Ease[name] = float64(v)
	}
	return declared[Fit]{f}, nil
}

func declareChoice(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var c block.Choice
	var options names
	var length, count, fraction numbers
	var def starlark.Value = starlark.None
	if err := starlark.UnpackArgs("choice", args, kwargs, "name", &c.Name, "help", &c.Help, "options?", &options, "length?", &length, "count?", &count, "fraction?", &fraction, "default?", &def); err != nil {
		return nil, err
	}
	if !validName(c.Name) {
		return nil, errBadName(c.Name)
	}
	if c.Help == "" || len(c.Help) > 200 {
		return nil, fmt.Errorf("choice %s: help of 1 to 200 bytes", c.Name)
	}
	for _, o := range options {
		if !validName(o) {
			return nil, fmt.Errorf("choice %s: %w", c.Name, errBadName(o))
		}
	}
	c.Options = options
	limits := numbers(nil)
	switch {
	case length != nil:
		c.Kind, limits = block.KindLength, length
	case count != nil:
		c.Kind, limits = block.KindCount, count
	case fraction != nil:
		c.Kind, limits = block.KindFraction, fraction
	case options != nil:
		c.Kind = block.KindOption
	default:
		c.Kind, c.Options = block.KindYesNo, []string{"no", "yes"}
	}
	if limits != nil {
		if len(limits) != 2 || !(limits[0] < limits[1]) || options != nil && c.Kind != block.KindLength {
			return nil, fmt.Errorf("choice %s: limits as (least, most), and words beside a length only", c.Name)
		}
		c.Min, c.Max = limits[0], limits[1]
	}
	var err error
	c.Default, err = defaultOf(c, def)
	if err != nil {
		return nil, fmt.Errorf("choice %s: %w", c.Name, err)
	}
	return declared[block.Choice]{c}, nil
}

func defaultOf(c block.Choice, v starlark.Value) (block.Value, error) {
	switch v := v.(type) {
	case starlark.NoneType:
		if len(c.Options) > 0 {
			return block.Value{Word: c.Options[0]}, nil
		}
		return block.Value{}, errors.New("a number needs a default")
	case starlark.Bool:
		if c.Kind == block.KindYesNo {
			return yesNo(bool(v)), nil
		}
	case starlark.String:
		if slices.Contains(c.Options, string(v)) {
			return block.Value{Word: string(v)}, nil
		}
		return block.Value{}, fmt.Errorf("default %s; want one of %v", v, c.Options)
	default:
		var f mm
		if err := f.Unpack(v); err != nil {
			return block.Value{}, err
		}
		if c.Kind == block.KindOption || c.Kind == block.KindYesNo || !(float64(f) >= c.Min && float64(f) <= c.Max) {
			break
		}
		if c.Kind == block.KindCount && float64(f) != float64(int(f)) {
			break
		}
		return block.Value{Number: float64(f)}, nil
	}
	return block.Value{}, fmt.Errorf("default %v is not among what may be chosen", v)
}

func yesNo(v bool) block.Value {
	if v {
		return block.Value{Word: "yes"}
	}
	return block.Value{Word: "no"}
}
