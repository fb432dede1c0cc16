package sentence

import (
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/style"
)

// A reader makes sentences of the statements of a script.
type reader struct {
	*Script
	verbs   map[string]style.Verb
	helpers map[string]string     // what the docstring of each function says
	choices map[string]style.Kind // that the head declares
	kinds   map[string]style.Kind // of the variables read so far
	lengths map[string]bool       // variables that the script uses as lengths
}

func newReader(s *Script) *reader {
	r := &reader{Script: s, verbs: map[string]style.Verb{}, helpers: map[string]string{},
		choices: map[string]style.Kind{}, kinds: map[string]style.Kind{}, lengths: map[string]bool{}}
	for _, v := range style.Verbs() {
		r.verbs[v.Name()] = v
	}
	syntax.Walk(s.file, func(n syntax.Node) bool {
		switch n := n.(type) {
		case *syntax.DefStmt:
			r.helpers[n.Name.Name] = docstring(n)
			delete(r.verbs, n.Name.Name)
		case *syntax.CallExpr:
			r.declareChoice(n)
		}
		return true
	})
	r.learnLengths()
	return r
}

// docstring returns what a function says of itself, without line breaks.
func docstring(def *syntax.DefStmt) string {
	if e, ok := def.Body[0].(*syntax.ExprStmt); ok {
		if s, ok := stringOf(e.X); ok {
			return strings.Join(strings.Fields(s), " ")
		}
	}
	return ""
}

// declareChoice notes the kind of a choice, if the call declares one.
func (r *reader) declareChoice(call *syntax.CallExpr) {
	if id, ok := call.Fn.(*syntax.Ident); !ok || id.Name != "choice" || len(call.Args) == 0 {
		return
	}
	name, _ := stringOf(call.Args[0])
	kind := style.KindYesNo
	for _, a := range call.Args {
		if named, ok := a.(*syntax.BinaryExpr); ok && named.Op == syntax.EQ {
			switch nameOf(named.X) {
			case "length":
				kind = style.KindLength
			case "options":
				if kind == style.KindYesNo {
					kind = style.KindText
				}
			case "count":
				kind = style.KindCount
			case "fraction":
				kind = style.KindShare
			}
		}
	}
	r.choices[name] = kind
}

// function reads a function of the script.
func (r *reader) function(def *syntax.DefStmt) Section {
	section := Section{Name: def.Name.Name, About: r.helpers[def.Name.Name], Line: int(def.Def.Line)}
	outer := r.kinds
	r.kinds = map[string]style.Kind{}
	for name, kind := range outer {
		r.kinds[name] = kind
	}
	list := def.Body
	if section.About != "" {
		list = list[1:]
	}
	section.Statements = r.statements(list)
	r.kinds = outer
	return section
}

// statements reads a block of statements.
func (r *reader) statements(list []syntax.Stmt) []*Statement {
	var out []*Statement
	for _, s := range list {
		st := &Statement{Span: r.span(s), Line: int(syntax.Start(s).Line), EndLine: int(endOf(s).Line)}
		st.Text = r.text(st.Span)
		out = append(out, st)
		switch s := s.(type) {
		case *syntax.IfStmt:
			out = append(out, r.condition(st, s)...)
		case *syntax.ForStmt:
			r.loop(st, s)
		default:
			st.Sentences, _ = r.simple(s)
		}
	}
	return out
}

// condition reads a condition, and returns the statements of its other branches.
func (r *reader) condition(st *Statement, s *syntax.IfStmt) []*Statement {
	st.Body = r.statements(s.True)
	if cond, ok := r.blank("condition", style.KindCondition, s.Cond); ok {
		st.Sentences = []Sentence{r.say(s, words("If "), cond, words(":"))}
	}
	if len(s.False) == 0 {
		return nil
	}
	other := &Statement{Span: Span{r.offset(s.ElsePos), st.End}, Line: int(s.ElsePos.Line), EndLine: st.EndLine,
		Otherwise: true}
	other.Text = r.text(other.Span)
	if next, ok := s.False[0].(*syntax.IfStmt); ok && next.If == s.ElsePos {
		rest := r.condition(other, next)
		if len(other.Sentences) > 0 {
			other.Sentences[0].Parts[0].Words = "Otherwise, if "
		}
		return append([]*Statement{other}, rest...)
	}
	other.Body = r.statements(s.False)
	other.Sentences = []Sentence{{Span: other.Span, Parts: []Part{words("Otherwise:")}}}
	return []*Statement{other}
}

// loop reads a loop.
func (r *reader) loop(st *Statement, s *syntax.ForStmt) {
	for _, name := range targets(s.Vars) {
		r.kinds[name] = ""
	}
	var parts []Part
	if call, ok := s.X.(*syntax.CallExpr); ok && nameOf(call.Fn) == "range" && len(call.Args) == 1 {
		if times, ok := r.blank("value", style.KindCount, call.Args[0]); ok {
			parts = []Part{words("Up to "), times, words(" times, counted by " + nameWords(nameOf(s.Vars)) + " from 0:")}
		}
	} else if list, ok := r.blank("value", style.KindAny, s.X); ok {
		parts = []Part{words("For each " + listWords(targets(s.Vars)) + " of "), list, words(":")}
	}
	if parts != nil {
		st.Sentences = []Sentence{r.say(s, parts...)}
	}
	st.Body = r.statements(s.Body)
}

// simple reads a statement without statements in it. It returns false if no sentence
// says it.
func (r *reader) simple(s syntax.Stmt) ([]Sentence, bool) {
	switch s := s.(type) {
	case *syntax.AssignStmt:
		return r.assignment(s)
	case *syntax.ExprStmt:
		return r.call(s)
	case *syntax.ReturnStmt:
		return r.result(s)
	case *syntax.BranchStmt:
		said := map[syntax.Token]string{syntax.BREAK: "Stop repeating.", syntax.CONTINUE: "Go on with the next one.",
			syntax.PASS: "Do nothing."}[s.Token]
		return []Sentence{r.say(s, words(said))}, true
	}
	return nil, false
}

// call reads a call as a statement.
func (r *reader) call(s *syntax.ExprStmt) ([]Sentence, bool) {
	call, ok := s.X.(*syntax.CallExpr)
	if !ok {
		return nil, false
	}
	if dot, ok := call.Fn.(*syntax.DotExpr); ok && dot.Name.Name == "append" && len(call.Args) == 1 {
		return r.addition(s, dot.X, call.Args[0])
	}
	out, ok := r.acts(call, "")
	return out, ok && len(out) > 0
}

// addition reads a statement that adds an element to a list.
func (r *reader) addition(s syntax.Stmt, list, element syntax.Expr) ([]Sentence, bool) {
	out, ok := r.acts(element, "")
	if !ok {
		return nil, false
	}
	if r.returns(element) == style.KindSeam {
		return out, true
	}
	value, ok := r.blank("value", style.KindAny, element)
	if !ok {
		return nil, false
	}
	return append(out, r.say(s, words("Add "), value, words(" to the "+nameWords(nameOf(list))+"."))), true
}

// result reads what a function returns.
func (r *reader) result(s *syntax.ReturnStmt) ([]Sentence, bool) {
	if s.Result == nil {
		return []Sentence{r.say(s, words("That is all."))}, true
	}
	out, ok := r.acts(s.Result, "")
	if !ok || r.returns(s.Result) == style.KindGarment {
		return out, ok
	}
	value, ok := r.blank("value", style.KindAny, s.Result)
	if !ok {
		return nil, false
	}
	return append(out, r.say(s, words("The result is "), value, words("."))), true
}

// assignment reads an assignment.
func (r *reader) assignment(s *syntax.AssignStmt) ([]Sentence, bool) {
	names := targets(s.LHS)
	if len(names) == 0 {
		return r.replacement(s)
	}
	defer r.learn(names, s)
	if s.Op != syntax.EQ {
		return r.growth(s, names[0])
	}
	if values, ok := s.RHS.(*syntax.TupleExpr); ok && len(names) > 1 && len(values.List) == len(names) {
		var all []Sentence
		for i, v := range values.List {
			out, ok := r.assigned(v, names[i:i+1], v)
			if !ok {
				return nil, false
			}
			all = append(all, out...)
		}
		return all, true
	}
	return r.assigned(s, names, s.RHS)
}

// replacement reads an assignment to an element of a list.
func (r *reader) replacement(s *syntax.AssignStmt) ([]Sentence, bool) {
	element, isElement := s.LHS.(*syntax.IndexExpr)
	out, ok := r.acts(s.RHS, "")
	if !isElement || !ok || s.Op != syntax.EQ {
		return nil, false
	}
	place, ok := r.index(element, style.KindAny)
	value, ok2 := r.blank("value", style.KindAny, s.RHS)
	return append(out, r.say(s, words("Put "), value, words(" in place of "+place+"."))), ok && ok2
}

// growth reads an assignment such as seams += [...].
func (r *reader) growth(s *syntax.AssignStmt, name string) ([]Sentence, bool) {
	out, ok := r.acts(s.RHS, "")
	if !ok {
		return nil, false
	}
	if len(out) > 0 && r.areSeams(s.RHS) {
		return out, true
	}
	value, ok := r.blank("value", style.KindAny, s.RHS)
	if !ok {
		return nil, false
	}
	verb, to := "Add ", " to "
	switch s.Op {
	case syntax.MINUS_EQ:
		verb, to = "Take ", " from "
	case syntax.PLUS_EQ:
	default:
		return nil, false
	}
	return append(out, r.say(s, words(verb), value, words(to+nameWords(name)+"."))), true
}

// areSeams reports whether an expression is made of lists of seams, which their own
// sentences say.
func (r *reader) areSeams(e syntax.Expr) bool {
	switch e := e.(type) {
	case *syntax.ListExpr:
		return !slices.ContainsFunc(e.List, func(x syntax.Expr) bool { return r.returns(x) != style.KindSeam })
	case *syntax.ParenExpr:
		return r.areSeams(e.X)
	case *syntax.BinaryExpr:
		return e.Op == syntax.PLUS && r.areSeams(e.X) && r.areSeams(e.Y)
	case *syntax.CondExpr:
		return r.areSeams(e.True) && r.areSeams(e.False)
	}
	return false
}

// isOwn reports whether a value is a conditional whose two sides both change the
// variable.
func (r *reader) isOwn(name string, value syntax.Expr) bool {
	c, ok := value.(*syntax.CondExpr)
	return ok && nameOf(r.base(c.True)) == name && nameOf(r.base(c.False)) == name
}

// assigned reads the assignment of a value to names.
func (r *reader) assigned(n syntax.Node, names []string, value syntax.Expr) ([]Sentence, bool) {
	out, ok := r.acts(value, "")
	if !ok {
		return nil, false
	}
	if len(out) > 0 && (r.areSeams(value) || len(names) == 1 && r.isOwn(names[0], value)) {
		return out, true
	}
	if call, isCall := value.(*syntax.CallExpr); isCall && len(out) > 0 && r.isAct(call) {
		if name := r.newName(call, names); name != "" {
			last := &out[len(out)-1]
			them := map[bool]string{true: "it", false: "them"}[len(names) == 1]
			last.Parts = append(last.Parts, words(" Call "+them+" "+name+"."))
		}
		return out, true
	}
	if call, isCall := value.(*syntax.CallExpr); isCall {
		if about, known := r.helpers[nameOf(call.Fn)]; known {
			said, ok := r.helper(n, names, call, about)
			return append(out, said), ok
		}
	}
	kind := r.kindOf(value)
	if len(names) == 1 && isPlain(kind) && r.lengths[names[0]] {
		kind = style.KindLength
	}
	blank, ok := r.blank("value", kind, value)
	if !ok {
		return nil, false
	}
	be := " be "
	if kind == style.KindCondition {
		be = " be whether "
	}
	return append(out, r.say(n, words("Let "+listWords(names)+be), blank, words("."))), true
}

// helper says a call of a function of the script, by its docstring.
func (r *reader) helper(n syntax.Node, names []string, call *syntax.CallExpr, about string) (Sentence, bool) {
	parts := []Part{words("Let " + listWords(names) + " be what “" + nameWords(nameOf(call.Fn)) + "” makes of ")}
	for i, a := range call.Args {
		name := ""
		if named, ok := a.(*syntax.BinaryExpr); ok && named.Op == syntax.EQ {
			name, a = nameOf(named.X), named.Y
		}
		b, ok := r.blank("value", style.KindAny, a)
		if !ok {
			return Sentence{}, false
		}
		b.Blank.Name = name
		parts = append(parts, words(separator(i, len(call.Args))), b)
	}
	about, _, _ = strings.Cut(about, ". ")
	if about = strings.TrimSuffix(strings.TrimPrefix(about, "Returns "), "."); about != "" {
		about = ": " + about
	}
	return r.say(n, append(parts, words(about+"."))...), true
}

// newName returns the words for variables that are not named as what they hold.
func (r *reader) newName(call *syntax.CallExpr, names []string) string {
	verb := r.verbs[nameOf(call.Fn)]
	args, err := bind(verb, call)
	if err != nil {
		return listWords(names)
	}
	var own []string
	for _, p := range verb.Params() {
		for _, a := range args[p.Name] {
			switch p.Kind {
			case style.KindPiece, style.KindShape:
				own = append(own, nameOf(r.base(a.expr)))
			case style.KindName, style.KindNames:
				own = append(own, stringsIn(a.expr)...)
			}
		}
	}
	for _, name := range names {
		if !contains(own, name) {
			return listWords(names)
		}
	}
	return ""
}

// learn notes the kinds of variables.
func (r *reader) learn(names []string, s *syntax.AssignStmt) {
	if values, ok := s.RHS.(*syntax.TupleExpr); ok && len(values.List) == len(names) {
		for i, name := range names {
			r.kinds[name] = r.kindOf(values.List[i])
		}
		return
	}
	for _, name := range names {
		if s.Op == syntax.EQ {
			r.kinds[name] = r.kindOf(s.RHS)
		}
	}
}

// say returns a sentence about a node.
func (r *reader) say(n syntax.Node, parts ...Part) Sentence {
	start := syntax.Start(n)
	return Sentence{Span: r.span(n), Line: int(start.Line), Column: int(start.Col), Parts: parts}
}

func words(text string) Part { return Part{Words: text} }
