package sentence

import (
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/block"
	"tapeline/drafting/style"
)

// tableOf returns the table that an argument is, or that a function of one expression
// returns; nil for others.
func tableOf(e syntax.Expr) *syntax.DictExpr {
	switch e := e.(type) {
	case *syntax.DictExpr:
		return e
	case *syntax.LambdaExpr:
		return tableOf(e.Body)
	case *syntax.ParenExpr:
		return tableOf(e.X)
	}
	return nil
}

// tableParts returns the entries of a table as words, each value a blank that has the name of
// its entry. It returns false if one of its keys is not a word.
func (r *reader) tableParts(param string, table *syntax.DictExpr) ([]Part, bool) {
	var parts []Part
	for i, x := range table.List {
		entry := x.(*syntax.DictEntry)
		key, ok := stringOf(entry.Key)
		if !ok {
			return nil, false
		}
		if i > 0 {
			parts = append(parts, words("; "))
		}
		parts = append(parts, words(nameWords(key)+" "))
		if inner := tableOf(entry.Value); inner != nil && len(inner.List) > 0 {
			more, ok := r.tableParts("ease", inner)
			if !ok {
				return nil, false
			}
			parts = append(parts, more...)
			continue
		}
		value, _ := r.blank(param, r.entryKind(param, key), entry.Value)
		value.Blank.Name = key
		parts = append(parts, value)
	}
	return parts, len(parts) > 0
}

// EntryKind returns what an entry of a table of the head takes.
func (s *Script) EntryKind(param, key string) style.Kind { return newReader(s).entryKind(param, key) }

// entryKind returns what the entry of a table of the head takes: an allowance or an ease
// a length, a choice of the block one of its words or a length.
func (r *reader) entryKind(param, key string) style.Kind {
	if param != "draft" {
		return style.KindLength
	}
	for _, c := range r.blockChoices() {
		if c.Name != key {
			continue
		}
		switch {
		case len(c.Options) > 0:
			return style.Kind(strings.Join(c.Options, "|"))
		case c.Kind == block.KindFraction:
			return style.KindShare
		case c.Kind == block.KindLength:
			return style.KindLength
		}
	}
	return style.KindAny
}

// blockChoices returns the choices of the block that the head names.
func (r *reader) blockChoices() []block.Choice {
	head := r.head()
	if head == nil {
		return nil
	}
	args, err := bind(r.verbs["style"], head)
	if err != nil {
		return nil
	}
	name, _ := stringOf(firstOf(args["block"]))
	spec, _ := block.Find(name)
	return spec.Choices
}

// Entries returns the entries that a table of the head can have besides those that it
// has, by name: choices of the block, or kinds of edges.
func (s *Script) Entries(param string) []string {
	r := newReader(s)
	var all []string
	switch param {
	case "draft":
		for _, c := range r.blockChoices() {
			all = append(all, c.Name)
		}
	case "allowances":
		all = style.AllowanceKinds()
	}
	head := s.head()
	if head == nil {
		return nil
	}
	args, err := bind(r.verbs["style"], head)
	if table := tableOf(firstOf(args[param])); err == nil && table != nil {
		all = slices.DeleteFunc(all, func(name string) bool { return entryOf(table, name) >= 0 })
	}
	return all
}

// entryOf returns which entry of a table has a key, -1 for none.
func entryOf(table *syntax.DictExpr, key string) int {
	return slices.IndexFunc(table.List, func(x syntax.Expr) bool {
		own, ok := stringOf(x.(*syntax.DictEntry).Key)
		return ok && own == key
	})
}

// setEntry gives an entry of a table a value, or with the zero Value removes it.
func (s *Script) setEntry(c *syntax.CallExpr, p style.Param, args []argument, key string, v Value) (string, error) {
	at := s.offset(c.Lparen)
	if !identifier.MatchString(key) {
		return "", s.errorAt(at, "%s: the name %q: want lower case letters, digits and _", p.Name, key)
	}
	text := ""
	if v.Form != "" {
		var err error
		if text, err = s.written(v, newReader(s).entryKind(p.Name, key)); err != nil {
			return "", s.errorAt(at, "%s: %w", key, err)
		}
	}
	if len(args) == 0 {
		if text == "" {
			return s.source, nil
		}
		return s.insertArgument(c, newReader(s).verbs["style"], p.Name, `{"`+key+`": `+text+"}")
	}
	table := tableOf(args[0].expr)
	if table == nil {
		return "", s.errorAt(at, "%s is worked out by the script; change it by hand", p.Name)
	}
	i := entryOf(table, key)
	switch {
	case i >= 0 && text == "":
		return s.removeElement(table.List, i)
	case i >= 0:
		return s.replaceExpr(s.span(table.List[i].(*syntax.DictEntry).Value), text)
	case text == "":
		return s.source, nil
	}
	text = `"` + key + `": ` + text
	if len(table.List) == 0 {
		end := s.offset(table.Rbrace)
		return s.checked(s.source[:end] + text + s.source[end:])
	}
	last := s.span(table.List[len(table.List)-1])
	return s.checked(s.source[:last.End] + s.separatorAfter(last) + text + s.source[last.End:])
}
