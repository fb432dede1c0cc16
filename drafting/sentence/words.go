package sentence

import (
	"slices"
	"strings"

	"go.starlark.net/syntax"
)

// nameOf returns the name that an expression is, "" for others.
func nameOf(e syntax.Expr) string {
	if id, ok := e.(*syntax.Ident); ok {
		return id.Name
	}
	return ""
}

// stringOf returns the string that an expression is.
func stringOf(e syntax.Expr) (string, bool) {
	l, ok := e.(*syntax.Literal)
	if !ok {
		return "", false
	}
	s, ok := l.Value.(string)
	return s, ok
}

// stringsIn returns the strings that an expression is, one or a list of them.
func stringsIn(e syntax.Expr) []string {
	if s, ok := stringOf(e); ok {
		return []string{s}
	}
	var all []string
	if list, ok := e.(*syntax.ListExpr); ok {
		for _, x := range list.List {
			if s, ok := stringOf(x); ok {
				all = append(all, s)
			}
		}
	}
	return all
}

// targets returns the names that an assignment or a loop assigns to, nil if it
// assigns to something else.
func targets(e syntax.Expr) []string {
	var list []syntax.Expr
	switch e := e.(type) {
	case *syntax.Ident:
		return []string{e.Name}
	case *syntax.ParenExpr:
		return targets(e.X)
	case *syntax.TupleExpr:
		list = e.List
	case *syntax.ListExpr:
		list = e.List
	}
	var names []string
	for _, x := range list {
		name := nameOf(x)
		if name == "" {
			return nil
		}
		names = append(names, name)
	}
	return names
}

// nameWords returns a name as words: centre_front is centre front.
func nameWords(name string) string {
	if name == strings.ToUpper(name) { // a constant
		name = strings.ToLower(name)
	}
	return strings.TrimSpace(strings.ReplaceAll(strings.ReplaceAll(name, "_", " "), "/", " "))
}

// listWords lists names in words.
func listWords(names []string) string {
	said := make([]string, len(names))
	for i, n := range names {
		said[i] = nameWords(n)
	}
	return joined(said)
}

// joined joins words as a, b and c.
func joined(list []string) string {
	var text strings.Builder
	for i, s := range list {
		if i > 0 {
			text.WriteString(separator(i, len(list)))
		}
		text.WriteString(s)
	}
	return text.String()
}

// separator returns what stands before element i > 0 of n.
func separator(i, n int) string {
	switch i {
	case 0:
		return ""
	case n - 1:
		return " and "
	}
	return ", "
}

// oneLine returns text without line breaks, and shortened.
func oneLine(text string) string {
	const longest = 80
	text = strings.Join(strings.Fields(text), " ")
	if short := []rune(text); len(short) > longest {
		return string(short[:longest-1]) + "…"
	}
	return text
}

func contains(list []string, s string) bool { return slices.Contains(list, s) }

// indented returns lines of script with the indentation of a block.
func indented(lines string) string { return strings.ReplaceAll(lines, "\n", "\n    ") }
