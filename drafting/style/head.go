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
	"tapeline/drafting/pattern"
)

// MaxTitle is the maximum length of a title in bytes.
const MaxTitle = 80

// A Head describes a style: all that is known before anything is drafted.
type Head struct {
	Slug     string
	Title    string
	About    string // one or two sentences
	Block    string
	Measures []body.Name // required besides the block's
	Fits     []Fit       // the first is the default
	Choices  []block.Choice
	Cloths   []string
	Cautions []string

	// Allowances are mm by role or "default".
	Allowances map[string]float64

	draft starlark.Value // a dict of the block's choices, or a function that returns one; nil for none
}

// A Fit is a table of ease: that of the block's fit Like, overridden by Ease.
type Fit struct {
	Name string
	Like string
	Help string
	Ease map[string]float64 // mm
}

var headVerbs = []declaration{
	{"Head", `style(slug name, title text, block name, about text="", draft table={}, measures names=[], fits fits=[], ` +
		`choices choices=[], cloths texts=[], cautions texts=[], allowances table={})`,
		`The style {slug} is called {title}, on the {block} block.[ About it: {about}][ The block is drafted with {draft}.]` +
			`[ It needs {measures} too.][ It offers {fits}.][ It asks for {choices}.][ It suits {cloths}.]` +
			`[ Caution: {cautions}][ Allowances: {allowances}.]`,
		`Declares the style. block is the block it is built on, and draft the block's own choices: a dict, or a ` +
			`function of (body, ease, choose) that returns one; its entry "ease" may hold a dict of ease that ` +
			`overrides the fit's. measures names measurements required besides the block's. cloths describes the ` +
			`cloths that suit it. allowances are mm by kind of edge: seam, hem, neckline, armhole, cap, edge, default.`,
		declareStyle},
	{"Head", `fit(name, like name="", help text="", ease length=mm, ...) fit`,
		`Offer the fit {name}[, like the block's {like}][, with <{ease} of ease in the {ease.name}>][: {help}].`,
		`Declares a fit: the block's fit like, or its first, with some of its ease overridden: ` +
			`fit("loose", like="regular", bust_girth=140).`,
		declareFit},
	{"Head", `choice(name, help text, options words=None, length limits=None, count range=None, fraction range=None, ` +
		`default any=None) choice`,
		`Let the customer choose the {name}[: {options}][, from {length}][, from {count} pieces][, a share from ` +
			`{fraction}][, usually {default}]. {help}`,
		`Declares a choice that an order may make. options is a list of words. length (in mm), count and fraction are ` +
			`(min, max); a length may have words as well. Without any of them the choice is yes or no. The default ` +
			`is the first word, or False; a number requires one.`,
		declareChoice},
}

// A declared value is a fit or a choice to be passed to style.
type declared[T any] struct{ value T }

func (declared[T]) String() string        { return "declaration" }
func (declared[T]) Freeze()               {}
func (declared[T]) Truth() starlark.Bool  { return true }
func (declared[T]) Hash() (uint32, error) { return 0, errUnhashable("declaration") }

func (d declared[T]) Type() string {
	if _, ok := any(d.value).(Fit); ok {
		return "fit"
	}
	return "choice"
}

func declareStyle(c *call) (starlark.Value, error) {
	h := &Head{}
	var fits, choices starlark.Indexable = starlark.Tuple{}, starlark.Tuple{}
	var measures, cloths, cautions names
	var allowances *starlark.Dict
	err := c.unpack(&h.Slug, &h.Title, &h.Block, &h.About, &h.draft,
		&measures, &fits, &choices, &cloths, &cautions,
		&allowances)
	if err != nil {
		return nil, err
	}
	if c.drafting {
		return nil, c.errorf("called while drafting; want it at the top of the script")
	}
	if c.heads++; c.heads > 1 {
		return nil, c.errorf("called twice")
	}
	switch h.draft.(type) {
	case nil, *starlark.Dict, *starlark.Function:
	default:
		return nil, c.errorf("draft: %w", typeError(h.draft, "a dict or a function"))
	}
	h.Cloths, h.Cautions = cloths, cautions
	for _, m := range measures {
		h.Measures = append(h.Measures, body.Name(m))
	}
	if h.Fits, err = declaredValues[Fit](fits); err != nil {
		return nil, c.errorf("fits: %w", err)
	}
	if h.Choices, err = declaredValues[block.Choice](choices); err != nil {
		return nil, c.errorf("choices: %w", err)
	}
	if h.Allowances, err = unpackAllowances(allowances); err != nil {
		return nil, c.errorf("allowances: %w", err)
	}
	if err := h.validate(); err != nil {
		return nil, c.errorf("%w", err)
	}
	c.head = h
	return starlark.None, nil
}

func declaredValues[T any](list starlark.Indexable) ([]T, error) {
	all, err := elements[declared[T]](list)
	var values []T
	for _, d := range all {
		values = append(values, d.value)
	}
	return values, err
}

func unpackAllowances(d *starlark.Dict) (map[string]float64, error) {
	if d == nil {
		return nil, nil
	}
	allowances := map[string]float64{}
	for _, kv := range d.Items() {
		kind, ok := starlark.AsString(kv[0])
		var v number
		if err := v.Unpack(kv[1]); err != nil || !ok {
			return nil, fmt.Errorf("%v: %v; want a kind of edge and mm", kv[0], kv[1])
		}
		allowances[kind] = float64(v)
	}
	return allowances, nil
}

// Limits of a head. An order can name as many choices.
const (
	maxChoices = 50
	maxFits    = 20
)

// allowanceKinds are the keys of a head's allowances.
var allowanceKinds = []string{"seam", "hem", "neckline", "armhole", "cap", "edge", "default"}

// AllowanceKinds returns the keys that the allowances of a head can have.
func AllowanceKinds() []string { return slices.Clone(allowanceKinds) }

// validate returns an error that names all faults of the head. It completes the
// fits from the block's.
func (h *Head) validate() error {
	faults := slices.Concat(h.validateNames(), h.validateChoices(), h.validateAllowances(), h.validateTexts())
	if len(faults) > 0 {
		return errors.New(strings.Join(faults, "; "))
	}
	return nil
}

func (h *Head) validateNames() (faults []string) {
	add := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	if !validSlug(h.Slug) {
		add("slug %q: want lower case letters, digits and hyphens, a letter first, at most 60", h.Slug)
	}
	if _, exists := block.Find(h.Slug); exists {
		add("slug %q: a block has this name", h.Slug)
	}
	if h.Title == "" || len(h.Title) > MaxTitle || strings.ContainsAny(h.Title, "\n\r\t") {
		add("title %q: want one line of 1 to %d bytes", h.Title, MaxTitle)
	}
	if spec, ok := block.Find(h.Block); ok {
		faults = append(faults, h.completeFits(spec)...)
	} else {
		var names []string
		for _, s := range block.Specs() {
			names = append(names, s.Name)
		}
		add("block %q: want one of %v", h.Block, names)
	}
	for _, m := range h.Measures {
		if _, known := body.Lookup(m); !known {
			add("measures: unknown measurement %q", m)
		}
	}
	return faults
}

func (h *Head) validateChoices() (faults []string) {
	if len(h.Choices) > maxChoices || len(h.Fits) > maxFits {
		faults = append(faults, fmt.Sprintf("%d choices and %d fits; at most %d and %d",
			len(h.Choices), len(h.Fits), maxChoices, maxFits))
	}
	seen := map[string]bool{}
	for _, c := range h.Choices {
		if seen[c.Name] {
			faults = append(faults, fmt.Sprintf("choice %q is declared twice", c.Name))
		}
		seen[c.Name] = true
	}
	return faults
}

func (h *Head) validateAllowances() (faults []string) {
	for _, name := range slices.Sorted(maps.Keys(h.Allowances)) {
		if !slices.Contains(allowanceKinds, name) {
			faults = append(faults, fmt.Sprintf("allowances: %q: want one of %v", name, allowanceKinds))
		}
		if mm := h.Allowances[name]; !(mm >= 0 && mm <= pattern.MaxAllowance) {
			faults = append(faults, fmt.Sprintf("allowances: %s=%g; want 0 to %g mm", name, mm, pattern.MaxAllowance))
		}
	}
	return faults
}

func (h *Head) validateTexts() (faults []string) {
	for _, s := range slices.Concat(h.Cloths, h.Cautions) {
		if s == "" || len(s) > 400 {
			faults = append(faults, fmt.Sprintf("a cloth or caution of %d bytes; want 1 to 400", len(s)))
		}
	}
	return faults
}

// completeFits fills in the fits from the block's and returns their faults.
func (h *Head) completeFits(spec block.Spec) (faults []string) {
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
			faults = append(faults, fmt.Sprintf("fit %q is declared twice", f.Name))
		}
		seen[f.Name] = true
		if f.Like == "" {
			f.Like = spec.Fits[0].Name
		}
		base := slices.IndexFunc(spec.Fits, func(b block.Fit) bool { return b.Name == f.Like })
		if base < 0 {
			faults = append(faults, fmt.Sprintf("fit %q: the %s block has no fit %q", f.Name, spec.Name, f.Like))
			continue
		}
		for _, name := range slices.Sorted(maps.Keys(f.Ease)) {
			if !hasEase(spec.Fits[base], name) {
				faults = append(faults, fmt.Sprintf("fit %q: the %s block has no ease %q", f.Name, spec.Name, name))
			}
		}
	}
	return faults
}

func hasEase(f block.Fit, name string) bool {
	return slices.ContainsFunc(f.Ease, func(e block.Ease) bool { return e.Name == name })
}

// validSlug reports whether a slug is of lower case letters, digits and
// hyphens, a letter first.
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

func declareFit(c *call) (starlark.Value, error) {
	f := Fit{Ease: map[string]float64{}}
	if err := c.unpackPositional(&f.Name); err != nil {
		return nil, err
	}
	if err := checkName(f.Name); err != nil {
		return nil, err
	}
	for _, kv := range c.kwargs {
		name, _ := starlark.AsString(kv[0])
		s, isString := starlark.AsString(kv[1])
		switch {
		case isString && name == "like":
			f.Like = s
		case isString && name == "help":
			f.Help = s
		default:
			var v number
			if err := v.Unpack(kv[1]); err != nil {
				return nil, c.errorf("for parameter %s: %w", name, err)
			}
			f.Ease[name] = float64(v)
		}
	}
	return declared[Fit]{f}, nil
}

func declareChoice(c *call) (starlark.Value, error) {
	var choice block.Choice
	var options names
	var length, count, fraction numbers
	var defaultValue starlark.Value = starlark.None
	err := c.unpack(&choice.Name, &choice.Help, &options, &length, &count, &fraction, &defaultValue)
	if err != nil {
		return nil, err
	}
	if err := checkName(choice.Name); err != nil {
		return nil, err
	}
	fail := func(format string, args ...any) (starlark.Value, error) {
		return nil, fmt.Errorf("choice "+choice.Name+": "+format, args...)
	}
	if choice.Help == "" || len(choice.Help) > 200 {
		return fail("help of %d bytes; want 1 to 200", len(choice.Help))
	}
	for _, o := range options {
		if err := checkName(o); err != nil {
			return fail("%w", err)
		}
	}
	choice.Options = options
	var limits numbers
	choice.Kind, limits = choiceKind(options, length, count, fraction)
	if choice.Kind == block.KindYesNo {
		choice.Options = []string{"no", "yes"}
	}
	if limits != nil {
		if len(limits) != 2 || !(limits[0] < limits[1]) {
			return fail("limits %v; want (min, max)", []float64(limits))
		}
		if options != nil && choice.Kind != block.KindLength {
			return fail("only a length can have options beside its limits")
		}
		choice.Min, choice.Max = limits[0], limits[1]
	}
	if choice.Default, err = choiceDefault(choice, defaultValue); err != nil {
		return fail("%w", err)
	}
	return declared[block.Choice]{choice}, nil
}

// choiceKind returns the kind of a choice, and its limits if it is a number.
func choiceKind(options names, length, count, fraction numbers) (block.ChoiceKind, numbers) {
	switch {
	case length != nil:
		return block.KindLength, length
	case count != nil:
		return block.KindCount, count
	case fraction != nil:
		return block.KindFraction, fraction
	case options != nil:
		return block.KindOption, nil
	}
	return block.KindYesNo, nil
}

// choiceDefault returns the default of a choice as the script gives it, or the
// first option.
func choiceDefault(c block.Choice, v starlark.Value) (block.Value, error) {
	switch v := v.(type) {
	case starlark.NoneType:
		if len(c.Options) > 0 {
			return block.Value{Word: c.Options[0]}, nil
		}
		return block.Value{}, errors.New("a number requires a default")
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
		var n number
		if err := n.Unpack(v); err != nil {
			return block.Value{}, err
		}
		numeric := c.Kind != block.KindOption && c.Kind != block.KindYesNo
		whole := c.Kind != block.KindCount || float64(n) == float64(int(n))
		if numeric && whole && float64(n) >= c.Min && float64(n) <= c.Max {
			return block.Value{Number: float64(n)}, nil
		}
	}
	return block.Value{}, fmt.Errorf("default %v is not among the values of the choice", v)
}

func yesNo(v bool) block.Value {
	if v {
		return block.Value{Word: "yes"}
	}
	return block.Value{Word: "no"}
}
