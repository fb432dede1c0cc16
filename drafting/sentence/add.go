package sentence

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/style"
)

// A Call is a sentence to add.
type Call struct {
	Verb string
	Args []Arg
	To   []string // the variables that hold the result; nil for those that the verb suggests
}

// An Arg fills in a blank of a sentence to add.
type Arg struct {
	Param string
	Name  string // of an argument whose name the script chooses
	Value Value
}

// value returns the first value of a parameter of the call, the zero Value if it has none.
func (c Call) value(param string) Value {
	for _, a := range c.Args {
		if a.Param == param {
			return a.Value
		}
	}
	return Value{}
}

// variables returns the variables that the call takes for parameters of a piece.
func (c Call) variables(v style.Verb) []string {
	var all []string
	for _, p := range v.Params() {
		if p.Kind != style.KindPiece && p.Kind != style.KindShape {
			continue
		}
		for _, a := range c.Args {
			if a.Param == p.Name && a.Value.Form == Variable {
				all = append(all, a.Value.Word)
			}
		}
	}
	return all
}

// Add adds a sentence after the statement or the element of a list at a place, or before
// it. At the zero Span it is added where it belongs: a seam among the garment's seams,
// what is said of a piece where Holder says, and anything else before what make returns.
//
// A piece that the verb makes gets a name that is still free, made of its title if the
// call has none, and is put among the garment's pieces.
func (s *Script) Add(at Span, before bool, c Call) (string, error) {
	verb, ok := newReader(s).verbs[c.Verb]
	if !ok {
		return "", s.errorAt(at.Start, "unknown verb %q", c.Verb)
	}
	c = s.named(verb, c)
	text, err := s.writtenCall(verb, c)
	if err != nil {
		return "", s.errorAt(at.Start, "%w", err)
	}
	if verb.Group == notions {
		return s.addNotion(text)
	}
	if at == (Span{}) {
		if at, before, ok = s.placeOf(verb, c); !ok {
			return "", s.errorAt(0, "the function make returns no garment(...)")
		}
	}
	node, path := s.find(at)
	if node == nil {
		return "", fmt.Errorf("no sentence at characters %d to %d", at.Start, at.End)
	}
	if list, i := elementOf(path); list != nil && verb.Returns() == s.returnsAt(list[i]) {
		if before {
			return s.checked(s.source[:at.Start] + text + s.separatorAfter(at) + s.source[at.Start:])
		}
		return s.checked(s.source[:at.End] + s.separatorAfter(at) + text + s.source[at.End:])
	}
	at = s.span(statementOf(path))
	if verb.Returns() == style.KindSeam {
		return s.addSeam(at, before, text)
	}
	if c.To == nil {
		c.To = resultOf(verb, c)
	}
	if len(c.To) > 0 {
		text = strings.Join(c.To, ", ") + " = " + text
	}
	insert, err := s.asStatement(at, before, text)
	if err != nil {
		return "", err
	}
	return s.checked(s.apply(append(s.relisted(verb, c, insert.at), insert)))
}

// notions is the group of the verbs that say what the garment takes besides cloth.
const notions = "Notions"

// addNotion puts a notion among those of the garment.
func (s *Script) addNotion(text string) (string, error) {
	m := s.readMake()
	if m.result == nil {
		return "", s.errorAt(0, "the function make returns no garment(...)")
	}
	list, name := m.listOf(notionsParam)
	switch {
	case list != nil:
		return s.checked(s.apply([]insertion{s.appended(list, text)}))
	case name != "":
		last := s.span(m.body[len(m.body)-1])
		insert, err := s.asStatement(last, true, name+".append("+text+")")
		if err != nil {
			return "", err
		}
		return s.checked(s.apply([]insertion{insert}))
	}
	return s.insertArgument(m.result, m.verbs["garment"], notionsParam, "["+text+"]")
}

const notionsParam = "notions"

// An insertion replaces a range of the script, which may be empty, by text.
type insertion struct {
	at   Span
	text string
}

// apply returns the script with insertions, none within another.
func (s *Script) apply(list []insertion) string {
	slices.SortStableFunc(list, func(a, b insertion) int { return cmp.Compare(b.at.Start, a.at.Start) })
	out := s.source
	for _, i := range list {
		out = out[:i.at.Start] + i.text + out[i.at.End:]
	}
	return out
}

// asStatement returns a new statement after another, or before it.
func (s *Script) asStatement(at Span, before bool, text string) (insertion, error) {
	lines, err := s.linesOf(at)
	if err != nil {
		return insertion{}, err
	}
	indent, _ := s.indentOf(at.Start)
	text = strings.ReplaceAll(text, "\n", "\n"+indent)
	if before {
		return insertion{Span{lines.Start, lines.Start}, indent + text + "\n"}, nil
	}
	return insertion{Span{lines.End, lines.End}, "\n" + indent + text}, nil
}

// placeOf returns where a sentence belongs. It returns false if make returns no garment.
func (s *Script) placeOf(verb style.Verb, c Call) (at Span, before, ok bool) {
	m := s.readMake()
	if m.result == nil {
		return Span{}, false, false
	}
	if verb.Returns() == style.KindSeam || verb.Returns() == style.KindNothing {
		return s.span(m.body[len(m.body)-1]), true, true
	}
	latest := -1
	for _, variable := range c.variables(verb) {
		for _, l := range m.listed {
			if l.variable != variable {
				continue
			}
			if _, after, ok := s.Holder(l.piece); ok && after.Start > latest {
				at, latest = after, after.Start
			}
		}
	}
	if latest >= 0 {
		return at, false, true
	}
	for i, stmt := range m.body { // a piece made of nothing: before pieces and seams
		if m.declares(stmt) || i == len(m.body)-1 {
			return s.span(stmt), true, true
		}
	}
	return Span{}, false, false
}

// addSeam puts a seam among the garment's seams, or within a condition in a statement of
// its own.
func (s *Script) addSeam(at Span, before bool, text string) (string, error) {
	m := s.readMake()
	list, name := m.listOf("seams")
	isTop := slices.ContainsFunc(m.body, func(stmt syntax.Stmt) bool { return s.span(stmt) == at })
	if list != nil && isTop {
		return s.checked(s.apply([]insertion{s.appended(list, text)}))
	}
	if name == "" {
		name = "seams"
	}
	insert, err := s.asStatement(at, before, name+".append("+text+")")
	if err != nil {
		return "", err
	}
	return s.checked(s.apply([]insertion{insert}))
}

// listOf returns the list that is an argument of the garment, and its variable: nil and
// "" for those that there are not. Of a variable the list is the first that it is.
func (m *made) listOf(param string) (list *syntax.ListExpr, name string) {
	arg := m.argument(param)
	if list, ok := arg.(*syntax.ListExpr); ok {
		return list, ""
	}
	name = nameOf(arg)
	for _, stmt := range m.body {
		if a, ok := stmt.(*syntax.AssignStmt); ok && name != "" && nameOf(a.LHS) == name && list == nil {
			list, _ = a.RHS.(*syntax.ListExpr)
		}
	}
	return list, name
}

// appended returns a new last element of a list.
func (s *Script) appended(list *syntax.ListExpr, text string) insertion {
	if len(list.List) == 0 {
		at := s.offset(list.Rbrack)
		return insertion{Span{at, at}, text}
	}
	last := s.span(list.List[len(list.List)-1])
	return insertion{Span{last.End, last.End}, s.separatorAfter(last) + text}
}

// relisted returns the changes of the garment's pieces that go with a statement at a
// place: what it makes is among them, what it cuts or joins to another no longer is.
func (s *Script) relisted(verb style.Verb, c Call, at Span) []insertion {
	m := s.readMake()
	list, name := m.listOf("pieces")
	if list == nil {
		return nil
	}
	made, gone := m.changes(verb, c)
	var out []insertion
	if s.span(list).Start < at.Start { // it is made after the list
		for _, to := range made {
			out = append(out, insertion{at, "\n" + s.indentAt(at.Start) + cmp.Or(name, "pieces") + ".append(" + to + ")"})
		}
		return out
	}
	for i, e := range list.List {
		if !slices.Contains(gone, s.text(s.span(e))) {
			continue
		}
		if len(made) == 0 {
			out = append(out, insertion{s.elementSpan(list.List, i), ""})
			continue
		}
		out = append(out, insertion{s.span(e), strings.Join(made, ", ")})
		made = nil
	}
	if len(made) > 0 {
		out = append(out, s.appended(list, strings.Join(made, ", ")))
	}
	return out
}

// changes returns the variables of the pieces that a call makes, and of those that are no
// longer pieces of their own. A piece that is only changed keeps its variable.
func (m *made) changes(verb style.Verb, c Call) (made, gone []string) {
	for _, to := range c.To {
		if !slices.ContainsFunc(m.listed, func(l listing) bool { return l.variable == to }) {
			made = append(made, to)
		}
	}
	given := c.variables(verb)
	if verb.Returns() == style.KindPieces || verb.Name() == "join" {
		gone = slices.DeleteFunc(slices.Clone(given), func(v string) bool { return slices.Contains(c.To, v) })
	}
	_, makes := newPieces(verb)
	switch {
	case makes || len(gone) > 0:
		return made, gone
	case verb.Returns() == style.KindPiece && strings.HasPrefix(firstOr(given, ""), "block."):
		return made, given // the variable takes the place of the block's piece
	}
	return nil, nil
}

func firstOr(list []string, otherwise string) string {
	if len(list) == 0 {
		return otherwise
	}
	return list[0]
}

func (s *Script) indentAt(offset int) string {
	indent, _ := s.indentOf(offset)
	return indent
}

// resultOf returns the variables that a call is assigned to: those of the pieces that it
// changes, or the names of those that it makes.
func resultOf(v style.Verb, c Call) []string {
	if param, ok := newPieces(v); ok {
		value := c.value(param)
		if value.Form == Words {
			return value.Words
		}
		return []string{variableFor(value.Word)}
	}
	if v.Returns() != style.KindPiece && v.Returns() != style.KindPieces && v.Returns() != style.KindShape {
		return nil
	}
	var to []string
	for _, variable := range c.variables(v) {
		if v.Returns() != style.KindPieces && len(to) > 0 {
			break
		}
		to = append(to, strings.TrimPrefix(variable, "block."))
	}
	return to
}

// variableFor returns the variable for a piece: its name, unless that is a verb's.
func variableFor(piece string) string {
	for _, v := range style.Verbs() {
		if v.Name() == piece {
			return piece + "_piece"
		}
	}
	return piece
}

// named returns a call with free names for the pieces that its verb makes.
func (s *Script) named(v style.Verb, c Call) Call {
	param, makes := newPieces(v)
	if !makes {
		return c
	}
	c.Args = slices.Clone(c.Args)
	at := slices.IndexFunc(c.Args, func(a Arg) bool { return a.Param == param })
	if at < 0 {
		c.Args = append(c.Args, Arg{Param: param, Value: Value{Form: Word}})
		at = len(c.Args) - 1
	}
	if v := &c.Args[at].Value; v.Form == Word && v.Word == "" {
		v.Word = c.value("title").Word
	}
	taken := s.names()
	for _, variable := range c.variables(v) {
		if v.Returns() == style.KindPieces { // what is cut can keep its name
			delete(taken, variable)
		}
	}
	value := c.Args[at].Value
	switch value.Form {
	case Word:
		value.Word = free(value.Word, taken)
	case Words:
		value.Words = slices.Clone(value.Words)
		for i, name := range value.Words {
			value.Words[i] = free(name, taken)
			taken[value.Words[i]] = true
		}
	}
	c.Args[at].Value = value
	return c
}

// names returns the variables and the pieces of the script.
func (s *Script) names() map[string]bool {
	taken := map[string]bool{}
	m := s.readMake()
	for _, piece := range m.pieces {
		taken[piece] = true
	}
	for _, l := range m.listed {
		taken[l.piece] = true
	}
	var visit func(n syntax.Node) bool
	visit = func(n syntax.Node) bool {
		switch n := n.(type) {
		case *syntax.Ident:
			taken[n.Name] = true
		case *syntax.BinaryExpr:
			if n.Op == syntax.EQ { // the name of an argument is none
				syntax.Walk(n.Y, visit)
				return false
			}
		case *syntax.DotExpr:
			syntax.Walk(n.X, visit)
			return false
		}
		return true
	}
	syntax.Walk(s.file, visit)
	return taken
}

var notInName = regexp.MustCompile(`[^a-z0-9]+`)

// longestName is the most characters of a name, without a number behind it.
const longestName = 36

// free returns a name that is not taken, made of a text.
func free(text string, taken map[string]bool) string {
	name := strings.Trim(notInName.ReplaceAllString(strings.ToLower(text), "_"), "_")
	if name == "" || name[0] >= '0' && name[0] <= '9' {
		name = strings.TrimSuffix("piece_"+name, "_")
	}
	name = strings.TrimSuffix(name[:min(len(name), longestName)], "_")
	next := name
	for n := 2; taken[next]; n++ {
		next = name + "_" + strconv.Itoa(n)
	}
	return next
}

// writtenCall returns a call as the script writes it.
func (s *Script) writtenCall(verb style.Verb, c Call) (string, error) {
	for _, name := range c.To {
		if !identifier.MatchString(name) {
			return "", fmt.Errorf("the name %q: want lower case letters, digits and _", name)
		}
	}
	var written []string
	for _, p := range verb.Params() {
		given := 0
		for _, a := range c.Args {
			if a.Param != p.Name {
				continue
			}
			text, err := s.written(a.Value, p.Kind)
			if err != nil {
				return "", fmt.Errorf("%s: %w", p.Name, err)
			}
			given++
			switch {
			case p.Rest == style.Named && !identifier.MatchString(a.Name):
				return "", fmt.Errorf("%s: the name %q: want lower case letters, digits and _", p.Name, a.Name)
			case p.Rest == style.Named:
				text = a.Name + " = " + text
			case p.Default != "" && !(p.Kind == style.KindSewn && verb.Returns() == style.KindSeam): // seam(a, b)
				text = p.Name + " = " + text
			}
			written = append(written, text)
		}
		if p.Required() && given == 0 || p.Rest == style.Single && given > 1 {
			return "", fmt.Errorf("%s: %d values for the blank %s", c.Verb, given, p.Name)
		}
	}
	for _, a := range c.Args {
		if !slices.Contains(paramNames(verb), a.Param) {
			return "", fmt.Errorf("%s has no blank %q; it has %v", c.Verb, a.Param, paramNames(verb))
		}
	}
	return c.Verb + "(" + strings.Join(written, ", ") + ")", nil
}
