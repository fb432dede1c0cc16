package workroom

import (
	"regexp"
	"slices"
	"strings"

	"tapeline/service/styles"
)

// surroundings hold the values that can fill a blank at its place in the script.
type surroundings struct {
	unit    styles.Unit
	tried   styles.Tried
	pieces  []string // variables that hold a piece
	lengths []string // variables that hold a length
	choices map[styles.Kind][]string
}

var assigned = regexp.MustCompile(`^([a-zA-Z_]\w*(?:\s*,\s*[a-zA-Z_]\w*)*)\s*=[^=]`)

// surroundingsOf returns what there is at an offset of a script that was tried.
func surroundingsOf(read *styles.Sentences, tried styles.Tried, unit styles.Unit, offset int) *surroundings {
	s := &surroundings{unit: unit, tried: tried, choices: map[styles.Kind][]string{}}
	for _, section := range read.Sections {
		own := section.Name == "" || contains(section.Statements, offset)
		eachStatement(section.Statements, func(st *styles.Statement) {
			for _, x := range st.Sentences {
				if x.Verb == "choice" {
					s.declare(x)
				}
				if own && (x.Start < offset || section.Name != "") {
					s.learn(st, x, x.Start < offset)
				}
			}
		})
	}
	return s
}

func contains(list []*styles.Statement, offset int) bool {
	return len(list) > 0 && list[0].Start <= offset && offset <= list[len(list)-1].End
}

func eachStatement(list []*styles.Statement, f func(*styles.Statement)) {
	for _, st := range list {
		f(st)
		eachStatement(st.Body, f)
	}
}

// declare notes a choice of the customer's.
func (s *surroundings) declare(x styles.Sentence) {
	name, kind := "", styles.Kind("yesno")
	for _, p := range x.Parts {
		switch b := p.Blank; {
		case b == nil:
		case b.Param == "name":
			name = b.Value.Word
		case b.Param == "length" || b.Param == "count":
			kind = styles.Kind(b.Param)
		case b.Param == "fraction":
			kind = "share"
		case b.Param == "options" && kind == "yesno":
			kind = "word"
		}
	}
	if name != "" {
		s.choices[kind] = append(s.choices[kind], name)
	}
}

// learn notes the variables that a statement assigns before the place, and the pieces
// that it uses.
func (s *surroundings) learn(st *styles.Statement, x styles.Sentence, before bool) {
	var made []string
	if m := assigned.FindStringSubmatch(st.Text); m != nil && before {
		for name := range strings.SplitSeq(m[1], ",") {
			made = append(made, strings.TrimSpace(name))
		}
	}
	for _, name := range made {
		if s.isPiece(name) {
			s.pieces = with(s.pieces, name)
		}
	}
	for _, p := range x.Parts {
		b := p.Blank
		if b == nil {
			continue
		}
		if b.Value.Form == "variable" && (b.Kind == "piece" || b.Kind == "shape") && before {
			s.pieces = with(s.pieces, b.Value.Word)
		}
		if strings.HasPrefix(b.Value.Script, "block.") && s.isPiece(strings.TrimPrefix(b.Value.Script, "block.")) {
			s.pieces = with(s.pieces, b.Value.Script)
		}
		if b.Kind == "length" && x.Verb == "" && len(made) == 1 {
			s.lengths = with(s.lengths, made[0])
		}
	}
}

func with(list []string, name string) []string {
	if slices.Contains(list, name) {
		return list
	}
	return append(list, name)
}

func (s *surroundings) isPiece(name string) bool { return s.piece(name) != nil }

// piece returns the piece of the draft that a variable holds, as far as its name says it.
func (s *surroundings) piece(variable string) *styles.TriedPiece {
	name := strings.TrimPrefix(variable, "block.")
	for i := range s.tried.Pieces {
		if s.tried.Pieces[i].Name == name {
			return &s.tried.Pieces[i]
		}
	}
	return nil
}

// partsOf returns the names of the edges, darts, lines or marks of a piece, or those of
// all pieces if it is none of the draft.
func (s *surroundings) partsOf(variable, kind string) []string {
	list := s.tried.Pieces
	if p := s.piece(variable); p != nil {
		list = []styles.TriedPiece{*p}
	}
	var names []string
	for _, p := range list {
		own := map[string][]string{"dart": p.Darts, "line": p.Lines, "mark": append(slices.Clone(p.Marks), p.Darts...)}[kind]
		if kind == "edge" {
			for _, e := range p.Edges {
				own = append(own, e.Name)
			}
		}
		for _, name := range own {
			names = with(names, name)
		}
	}
	return names
}

// namesOf returns the field for the name of an argument: the edges of the piece, or any
// word.
func (s *surroundings) namesOf(q styles.Param, piece, name, value string) *field {
	if q.Name == "edge" || q.Name == "neighbour" {
		return &field{Name: name, Label: words(q.Name), Kind: "select",
			Options: chosenIn(namedOptions(s.partsOf(piece, "edge")), value)}
	}
	return &field{Name: name, Label: "name", Kind: "text", Value: value}
}

// sewn returns all edges as seams name them: piece/edge.
func (s *surroundings) sewn() []string {
	var names []string
	for _, p := range s.tried.Pieces {
		for _, e := range p.Edges {
			names = append(names, p.Name+"/"+e.Name)
		}
	}
	return names
}

// edgeLengths returns the edges of the pieces that variables hold, with their lengths.
func (s *surroundings) edgeLengths() []option {
	var list []option
	for _, variable := range s.pieces {
		p := s.piece(variable)
		if p == nil {
			continue
		}
		for _, e := range p.Edges {
			said := words(p.Name + " " + e.Name)
			if strings.HasPrefix(variable, "block.") {
				said = "block's " + said
			} else {
				said += ", " + s.unit.Said(e.Length)
			}
			list = append(list, option{Value: variable + "/" + e.Name, Words: said})
		}
	}
	return list
}

// choicesOf returns the customer's choices that fill a blank of a kind.
func (s *surroundings) choicesOf(kind styles.Kind) []string {
	switch {
	case kind == "along":
		kind = "length"
	case kind == "number":
		kind = "share"
	case kind.Words() != nil:
		kind = "word"
	}
	return s.choices[kind]
}

func (s *surroundings) inUnit(mm float64) string { return inUnit(s.unit, mm) }

func (s *surroundings) unitName() string { return string(s.unit) }
