package workroom

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tapeline/service/styles"
)

// way is one way to fill in a blank: with a number, as long as an edge, and so on.
type way struct {
	Name   string // of the radio button
	Form   string // its value, as readEdit has it
	Words  string
	Chosen bool
	Fields []field
}

// field is a field of a form.
type field struct {
	Name, Label, Value string
	Kind               string // number, text, lines, script, select or checks
	Options            []option
	Unit               string
}

// now returns the value that the field shows.
func (f field) now() string {
	for _, o := range f.Options {
		if o.Chosen {
			return o.Value
		}
	}
	return f.Value
}

// option is one of several values.
type option struct {
	Value, Words string
	Chosen       bool
}

// filling collects the ways to fill in a blank.
type filling struct {
	around *surroundings
	kind   styles.Kind
	value  styles.Value // that it has; without a form it has none
	of     string       // the variable of the piece that an edge belongs to
	prefix string       // of the names of fields
	ways   []way
}

// waysOf returns the ways to fill in a blank.
func (s *surroundings) waysOf(kind styles.Kind, value styles.Value, of, prefix string) []way {
	f := &filling{around: s, kind: kind, value: value, of: of, prefix: prefix}
	switch kind {
	case "length", "along":
		f.number(s.unitName())
		f.edgeLength()
		f.measurement()
		f.customers()
		f.variable("what the script calls", s.lengths)
	case "angle", "direction":
		f.number("degrees")
		f.customers()
		if value.Form != "number" {
			f.loose()
		}
	case "number", "count", "share":
		f.number("")
		f.customers()
	case "lengths":
		f.numbers()
	case "limits", "range":
		f.limits()
	case "position":
		f.position()
	default:
		f.names()
	}
	known := slices.ContainsFunc(f.ways, func(w way) bool { return w.Chosen })
	f.add("by_hand", "as the script writes it", field{Name: "script", Kind: "script", Value: value.Script})
	f.ways[len(f.ways)-1].Chosen = f.ways[len(f.ways)-1].Chosen && !known
	if !slices.ContainsFunc(f.ways, func(w way) bool { return w.Chosen }) {
		last := len(f.ways) - 1
		if value.Form == "" || last == 0 {
			last = 0
		}
		f.ways[last].Chosen = true
	}
	return f.ways
}

// names adds the ways to fill in a name, a word or a text.
func (f *filling) names() {
	switch f.kind {
	case "piece", "shape":
		f.variable("the piece", f.around.pieces)
	case "pieces":
		f.list(f.around.pieces)
	case "edge", "dart", "line", "mark":
		f.word("the "+string(f.kind), f.around.partsOf(f.of, string(f.kind)))
	case "edges", "darts":
		f.word("one", f.around.partsOf(f.of, strings.TrimSuffix(string(f.kind), "s")))
		f.lines("several, one a line")
	case "sewn":
		f.word("the edge", f.around.sewn())
		f.lines("several in sewing order, one a line, such as back/side")
	case "yesno":
		f.add("yesno", "", field{Name: "word", Kind: "select", Options: chosenIn([]option{{Value: "yes", Words: "yes"},
			{Value: "no", Words: "no"}}, f.value.Word)})
		f.customers()
	case "texts", "names", "words":
		f.lines("one a line")
	case "text", "name":
		f.add("word", "", field{Name: "word", Kind: "text", Value: f.given("word", f.value.Word)})
	case "any":
		f.loose()
	default:
		if list := f.kind.Words(); list != nil {
			f.word("", list)
			f.customers()
		}
	}
}

// loose adds the way that the value of a blank of any kind has now.
func (f *filling) loose() {
	switch f.value.Form {
	case "number":
		f.number("")
	case "word":
		f.add("word", "", field{Name: "word", Kind: "text", Value: f.value.Word})
	case "words":
		f.lines("one a line")
	}
}

// add adds a way. The one that the value has now is chosen.
func (f *filling) add(form, said string, fields ...field) {
	for i := range fields {
		fields[i].Name = f.prefix + form + "." + fields[i].Name
	}
	f.ways = append(f.ways, way{Name: f.prefix + "form", Form: form, Words: said, Fields: fields,
		Chosen: string(f.value.Form) == form || f.value.Form == "phrase" && form == "by_hand"})
}

// given returns a value if the blank has that form, "" otherwise.
func (f *filling) given(form, value string) string {
	if string(f.value.Form) != form {
		return ""
	}
	return value
}

func (f *filling) number(unit string) {
	text := ""
	switch {
	case f.value.Form != "number":
	case styles.IsLength(f.kind):
		text = f.around.inUnit(f.value.Number)
	default:
		text = written(f.value.Number)
	}
	f.add("number", "a number", field{Name: "number", Kind: "number", Value: text, Unit: unit})
}

// These are values as scripts write them.
var (
	listValue     = regexp.MustCompile(`^\[(-?[\d.]+(?:, -?[\d.]+)*)\]$`)
	rangeValue    = regexp.MustCompile(`^\((-?[\d.]+), (-?[\d.]+)\)$`)
	positionValue = regexp.MustCompile(`^\("(\w+)", (-?[\d.]+)\)$`)
)

// shown writes a number of the script as a field has it.
func (f *filling) shown(text string) string {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !styles.IsLength(f.kind) {
		return text
	}
	return f.around.inUnit(v)
}

// choose makes the way that was added last the one that the value has now.
func (f *filling) choose() { f.ways[len(f.ways)-1].Chosen = true }

// numbers adds a list of lengths.
func (f *filling) numbers() {
	m, texts := listValue.FindStringSubmatch(f.value.Script), []string{}
	if m != nil {
		for text := range strings.SplitSeq(m[1], ", ") {
			texts = append(texts, f.shown(text))
		}
	}
	f.add("numbers", "lengths, separated by semicolons", field{Name: "number", Kind: "text", Unit: f.around.unitName(),
		Value: strings.Join(texts, "; ")})
	if m != nil {
		f.choose()
	}
}

func (f *filling) limits() {
	unit := ""
	if f.kind == "limits" {
		unit = f.around.unitName()
	}
	low := field{Name: "min", Label: "from", Kind: "number"}
	high := field{Name: "max", Label: "to", Kind: "number", Unit: unit}
	m := rangeValue.FindStringSubmatch(f.value.Script)
	if m != nil {
		low.Value, high.Value = f.shown(m[1]), f.shown(m[2])
	}
	f.add("range", "two limits", low, high)
	if m != nil {
		f.choose()
	}
}

func (f *filling) position() {
	m, edge, at := positionValue.FindStringSubmatch(f.value.Script), "", ""
	if m != nil {
		edge, at = m[1], f.shown(m[2])
	}
	f.add("position", "a place on an edge", field{Name: "number", Kind: "number", Unit: f.around.unitName(), Value: at},
		field{Name: "word", Label: "along the", Kind: "select",
			Options: chosenIn(namedOptions(f.around.partsOf(f.of, "edge")), edge)})
	if m != nil {
		f.choose()
	}
}

func (f *filling) edgeLength() {
	edges := f.around.edgeLengths()
	if len(edges) == 0 && f.value.Form != "edge_length" {
		return
	}
	chosen := f.given("edge_length", f.value.Piece+"/"+f.value.Word)
	f.add("edge_length", "as long as", field{Name: "word", Label: "the edge", Kind: "select",
		Options: chosenIn(edges, chosen)}, f.plus("edge_length"))
}

func (f *filling) plus(form string) field {
	return field{Name: "plus", Label: "plus", Kind: "number", Unit: f.around.unitName(),
		Value: f.given(form, f.around.inUnit(f.value.Plus))}
}

func (f *filling) measurement() {
	times := "1"
	if f.value.Form == "measurement" && f.value.Times != 0 {
		times = written(f.value.Times)
	}
	var all []option
	for _, m := range styles.Measures() {
		all = append(all, option{Value: m.Name, Words: words(m.Name)})
	}
	f.add("measurement", "a share of a measurement", field{Name: "times", Label: "share", Kind: "number", Value: times},
		field{Name: "word", Label: "of the", Kind: "select", Options: chosenIn(all, f.given("measurement", f.value.Word))},
		f.plus("measurement"))
}

// customers adds the customer's choices of the kind.
func (f *filling) customers() {
	list := f.around.choicesOf(f.kind)
	if len(list) == 0 && f.value.Form != "chosen" {
		return
	}
	f.add("chosen", "what the customer chooses",
		field{Name: "word", Kind: "select", Options: chosenIn(namedOptions(list), f.given("chosen", f.value.Word))})
}

func (f *filling) variable(said string, list []string) {
	if len(list) == 0 && f.value.Form != "variable" {
		return
	}
	f.add("variable", said,
		field{Name: "word", Kind: "select", Options: chosenIn(namedOptions(list), f.given("variable", f.value.Word))})
}

// word adds one of several words, of which the one that is there may be another.
func (f *filling) word(said string, list []string) {
	f.add("word", said, field{Name: "word", Kind: "select",
		Options: chosenIn(namedOptions(list), f.given("word", f.value.Word))})
}

func (f *filling) lines(said string) {
	f.add("words", said, field{Name: "word", Kind: "lines", Value: f.given("words", strings.Join(f.value.Words, "\n"))})
}

// list adds a list of variables, each of which is checked or not.
func (f *filling) list(names []string) {
	there := strings.FieldsFunc(f.value.Script, func(r rune) bool { return strings.ContainsRune("[], \n\t", r) })
	if strings.ContainsAny(f.value.Script, "()") || !strings.HasPrefix(f.value.Script, "[") {
		return
	}
	var options []option
	for _, name := range there {
		options = append(options, option{Value: name, Words: words(name), Chosen: true})
	}
	for _, name := range names {
		if !slices.Contains(there, name) {
			options = append(options, option{Value: name, Words: words(name)})
		}
	}
	f.add("list", "the pieces", field{Name: "word", Kind: "checks", Options: options})
	f.choose()
}

// namedOptions returns names as options that are said in words.
func namedOptions(names []string) []option {
	var list []option
	for _, name := range names {
		said := words(strings.TrimPrefix(name, "block."))
		list = append(list, option{Value: name, Words: strings.ReplaceAll(said, "/", " ")})
	}
	return list
}

// chosenIn marks the option of a value, which is added if it is missing.
func chosenIn(options []option, value string) []option {
	found := value == ""
	for i := range options {
		if options[i].Value == value {
			options[i].Chosen, found = true, true
		}
	}
	if !found {
		options = append(options, option{Value: value, Words: words(value), Chosen: true})
	}
	return options
}
