package sentence

import (
	"slices"

	"go.starlark.net/syntax"

	"tapeline/drafting/style"
)

// Holder returns the variable that holds a piece of the garment, and the statement of
// make after which a sentence about the piece is best added: the last one before the
// piece is listed among the garment's pieces and before its seams are declared. It
// returns false if the script gives the piece no variable.
func (s *Script) Holder(piece string) (variable string, after Span, ok bool) {
	m := s.readMake()
	if piece == "" {
		return "", Span{}, false
	}
	isNamed := func(l listing) bool { return l.piece == piece }
	if !slices.ContainsFunc(m.listed, isNamed) { // a function of the script names it
		isNamed = func(l listing) bool { return m.mentions(m.calls[l.variable], piece) }
	}
	for _, l := range m.listed {
		if l.variable == "" || !isNamed(l) {
			continue
		}
		for _, b := range l.path { // from the outermost block: a sentence there holds in every branch
			last := lastAssigning(b.block[:b.at], l.variable)
			if last < 0 {
				continue
			}
			for last+1 < b.at && !m.declares(b.block[last+1]) {
				last++
			}
			return l.variable, s.span(b.block[last]), true
		}
	}
	return "", Span{}, false
}

// A made follows what make does with pieces, as far as the script says it.
type made struct {
	*reader
	body   []syntax.Stmt
	result *syntax.CallExpr            // of garment; nil if make returns none
	lists  []string                    // the variables that are lists of the garment's pieces
	pieces map[string]string           // the names of the pieces that variables hold
	calls  map[string]*syntax.CallExpr // of functions of the script, by the variable for the result
	listed []listing
}

// A listing is a piece that is put among the garment's pieces.
type listing struct {
	piece, variable string
	path            []place
}

// A place is a statement of a block.
type place struct {
	block []syntax.Stmt
	at    int
}

// readMake reads the function make. Without one nothing is listed.
func (s *Script) readMake() *made {
	m := &made{reader: newReader(s), pieces: map[string]string{}, calls: map[string]*syntax.CallExpr{}}
	for _, stmt := range s.file.Stmts {
		if def, ok := stmt.(*syntax.DefStmt); ok && def.Name.Name == "make" {
			m.body = def.Body
		}
	}
	m.each(m.body, nil, func(_ []place, stmt syntax.Stmt) {
		if r, ok := stmt.(*syntax.ReturnStmt); ok && m.returns(r.Result) == style.KindGarment {
			m.result = r.Result.(*syntax.CallExpr)
		}
	})
	m.lists = namesIn(m.argument("pieces"))
	m.each(m.body, nil, m.follow)
	return m
}

// each calls f for every statement of a block and of those in it, with their places.
func (m *made) each(block []syntax.Stmt, around []place, f func(path []place, stmt syntax.Stmt)) {
	for i, stmt := range block {
		path := append(slices.Clone(around), place{block, i})
		f(path, stmt)
		switch stmt := stmt.(type) {
		case *syntax.IfStmt:
			m.each(stmt.True, path, f)
			m.each(stmt.False, path, f)
		case *syntax.ForStmt:
			m.each(stmt.Body, path, f)
		}
	}
}

// argument returns an argument of the garment, nil if it is left out.
func (m *made) argument(param string) syntax.Expr {
	if m.result == nil {
		return nil
	}
	v, call, _ := m.verbOf(m.result)
	args, err := bind(v, call)
	if err != nil || len(args[param]) == 0 {
		return nil
	}
	return args[param][0].expr
}

// follow notes which variables hold which pieces after a statement, and what it lists.
func (m *made) follow(path []place, stmt syntax.Stmt) {
	switch stmt := stmt.(type) {
	case *syntax.AssignStmt:
		m.list(path, stmt.LHS, stmt.RHS)
		names := targets(stmt.LHS)
		if call, ok := m.base(stmt.RHS).(*syntax.CallExpr); ok && len(names) == 1 && m.helpers[nameOf(call.Fn)] != "" {
			m.calls[names[0]] = call
		}
		for i, name := range names {
			m.pieces[name] = m.pieceOf(name, stmt.RHS, i, len(names))
		}
	case *syntax.ExprStmt:
		if call, ok := stmt.X.(*syntax.CallExpr); ok {
			if dot, ok := call.Fn.(*syntax.DotExpr); ok && slices.Contains(m.lists, nameOf(dot.X)) {
				m.listAll(path, call.Args)
			}
		}
	case *syntax.ReturnStmt:
		if stmt.Result == m.result {
			m.listAll(path, elementsOf(m.argument("pieces")))
		}
	}
}

// list notes what an assignment puts among the pieces.
func (m *made) list(path []place, to, value syntax.Expr) {
	switch to := to.(type) {
	case *syntax.Ident:
		if slices.Contains(m.lists, to.Name) {
			m.listAll(path, elementsOf(value))
		}
	case *syntax.IndexExpr:
		if slices.Contains(m.lists, nameOf(to.X)) {
			m.listAll(path, []syntax.Expr{value})
		}
	case *syntax.TupleExpr:
		if values, ok := value.(*syntax.TupleExpr); ok && len(values.List) == len(to.List) {
			for i := range to.List {
				m.list(path, to.List[i], values.List[i])
			}
		}
	}
}

func (m *made) listAll(path []place, list []syntax.Expr) {
	for _, e := range list {
		base := m.base(e)
		m.listed = append(m.listed, listing{m.pieceOf("", e, 0, 1), nameOf(base), path})
	}
}

// pieceOf returns the name of the piece that an expression, or element i of n that it
// returns, is. A variable whose value the script does not say is named as its piece.
func (m *made) pieceOf(variable string, e syntax.Expr, i, n int) string {
	switch e := e.(type) {
	case *syntax.ParenExpr:
		return m.pieceOf(variable, e.X, i, n)
	case *syntax.Ident:
		return m.pieces[e.Name]
	case *syntax.DotExpr:
		if nameOf(e.X) == "block" {
			return e.Name.Name
		}
	case *syntax.CondExpr:
		return m.pieceOf(variable, e.True, i, n)
	case *syntax.TupleExpr:
		if len(e.List) == n {
			return m.pieceOf(variable, e.List[i], 0, 1)
		}
	case *syntax.CallExpr:
		if v, call, ok := m.verbOf(e); ok {
			return m.pieceMade(variable, v, call, i)
		}
	}
	return variable
}

// mentions reports whether a call of a function of the script, or that function, has a
// piece's name.
func (m *made) mentions(call *syntax.CallExpr, piece string) bool {
	if call == nil {
		return false
	}
	found := false
	look := func(n syntax.Node) bool {
		if e, ok := n.(syntax.Expr); ok {
			text, isText := stringOf(e)
			found = found || isText && text == piece
		}
		return !found
	}
	syntax.Walk(call, look)
	for _, stmt := range m.file.Stmts {
		if def, ok := stmt.(*syntax.DefStmt); ok && def.Name.Name == nameOf(call.Fn) {
			syntax.Walk(def, look)
		}
	}
	return found
}

// pieceMade returns the name of the piece, or of piece i, that a verb returns.
func (m *made) pieceMade(variable string, v style.Verb, call *syntax.CallExpr, i int) string {
	args, err := bind(v, call)
	if err != nil {
		return ""
	}
	if param, ok := newPieces(v); ok {
		if names := stringsIn(firstOf(args[param])); i < len(names) {
			return names[i]
		}
		return ""
	}
	for _, p := range v.Params() {
		if p.Kind != style.KindPiece && p.Kind != style.KindShape || len(args[p.Name]) == 0 {
			continue
		}
		if i == 0 {
			return m.pieceOf(variable, args[p.Name][0].expr, 0, 1)
		}
		i--
	}
	return ""
}

func firstOf(args []argument) syntax.Expr {
	if len(args) == 0 {
		return nil
	}
	return args[0].expr
}

// newPieces returns the parameter that names what a verb makes, and whether it makes
// pieces of its own, instead of changing one.
func newPieces(v style.Verb) (param string, ok bool) {
	titled := false
	for _, p := range v.Params() {
		switch {
		case p.Name == "title":
			titled = true
		case p.Kind == style.KindName && p.Name == "name", p.Kind == style.KindNames && p.Name == "names":
			param = p.Name
		}
	}
	ok = v.Returns() == style.KindPiece && titled || v.Returns() == style.KindPieces && param == "names"
	return param, ok
}

// declares reports whether a statement lists pieces or says how they are sewn and worn.
func (m *made) declares(stmt syntax.Stmt) bool {
	found := false
	syntax.Walk(stmt, func(n syntax.Node) bool {
		switch n := n.(type) {
		case *syntax.Ident:
			found = found || slices.Contains(m.lists, n.Name)
		case *syntax.CallExpr:
			name := nameOf(n.Fn)
			found = found || m.returns(n) == style.KindSeam || m.returns(n) == style.KindGarment || name == "let_pass" ||
				name == "check"
		}
		return !found
	})
	return found
}

// lastAssigning returns the last statement of a block that assigns a variable, in
// itself or in a branch; -1 if none does.
func lastAssigning(block []syntax.Stmt, variable string) int {
	for i := len(block) - 1; i >= 0; i-- {
		found := false
		syntax.Walk(block[i], func(n syntax.Node) bool {
			if a, ok := n.(*syntax.AssignStmt); ok && slices.Contains(targets(a.LHS), variable) {
				found = true
			}
			return !found
		})
		if found {
			return i
		}
	}
	return -1
}

// elementsOf returns the elements of a list, or of lists that are added.
func elementsOf(e syntax.Expr) []syntax.Expr {
	switch e := e.(type) {
	case *syntax.ListExpr:
		return e.List
	case *syntax.ParenExpr:
		return elementsOf(e.X)
	case *syntax.BinaryExpr:
		return append(slices.Clone(elementsOf(e.X)), elementsOf(e.Y)...)
	}
	return nil
}

// namesIn returns the variables that a list is, or is added up of.
func namesIn(e syntax.Expr) []string {
	switch e := e.(type) {
	case *syntax.Ident:
		return []string{e.Name}
	case *syntax.ParenExpr:
		return namesIn(e.X)
	case *syntax.BinaryExpr:
		return append(namesIn(e.X), namesIn(e.Y)...)
	}
	return nil
}
