package style

import (
	"fmt"
	"slices"
	"strings"
)

// A Kind is what a parameter of a verb takes, or what a verb returns.
type Kind string

// Kinds of parameters and results. A parameter that takes one of a few words has
// these as its kind, separated by |.
const (
	KindPiece     Kind = "piece"
	KindPieces    Kind = "pieces" // a list of pieces
	KindPath      Kind = "path"
	KindPaths     Kind = "paths" // a pair of paths
	KindPoint     Kind = "point"
	KindPoints    Kind = "points"   // a list of points
	KindShape     Kind = "shape"    // a piece, path or point
	KindEdge      Kind = "edge"     // the name of an edge of the piece before it
	KindEdges     Kind = "edges"    // one or more names of its edges
	KindDart      Kind = "dart"     // the name of a dart of the piece before it
	KindDarts     Kind = "darts"    // names of its darts
	KindLine      Kind = "line"     // the name of a line in the piece before it
	KindMark      Kind = "mark"     // the name of a mark or dart of the piece before it
	KindPosition  Kind = "position" // an edge of the piece before it, and mm along it
	KindSewn      Kind = "sewn"     // "piece/edge", or a list of these in sewing order
	KindLength    Kind = "length"   // mm
	KindLengths   Kind = "lengths"  // a list of mm
	KindAlong     Kind = "along"    // mm along an edge or path; negative: from its end
	KindLimits    Kind = "limits"   // (min, max), mm
	KindRange     Kind = "range"    // (min, max)
	KindAngle     Kind = "angle"    // degrees
	KindDirection Kind = "direction"
	KindShare     Kind = "share" // 0 to 1
	KindNumber    Kind = "number"
	KindCount     Kind = "count"
	KindYesNo     Kind = "yesno"
	KindName      Kind = "name"  // a new name, or one of the block's or the order's
	KindNames     Kind = "names" // a list of names
	KindWords     Kind = "words" // a list of words that an order can choose from
	KindText      Kind = "text"
	KindTexts     Kind = "texts" // a list of texts
	KindCondition Kind = "condition"
	KindBody      Kind = "body"
	KindTable     Kind = "table" // a dict
	KindAny       Kind = "any"
	KindSeam      Kind = "seam"
	KindSeams     Kind = "seams" // a list of seams
	KindFit       Kind = "fit"
	KindFits      Kind = "fits" // a list of fits
	KindChoice    Kind = "choice"
	KindChoices   Kind = "choices" // a list of choices
	KindGarment   Kind = "garment"
	KindNothing   Kind = "" // of a verb that declares something
)

// kinds are all kinds that a signature can name.
var kinds = []Kind{
	KindPiece, KindPieces, KindPath, KindPaths, KindPoint, KindPoints, KindShape, KindEdge, KindEdges, KindDart,
	KindDarts, KindLine, KindMark, KindPosition, KindSewn, KindLength, KindLengths, KindAlong, KindLimits, KindRange,
	KindAngle, KindDirection, KindShare, KindNumber, KindCount, KindYesNo, KindName, KindNames, KindWords, KindText,
	KindTexts, KindCondition, KindBody, KindTable, KindAny, KindSeam, KindSeams, KindFit, KindFits, KindChoice,
	KindChoices, KindGarment,
}

// Words returns the words that a parameter of the kind takes, nil if it takes
// something else.
func (k Kind) Words() []string {
	if !strings.Contains(string(k), "|") {
		return nil
	}
	return strings.Split(string(k), "|")
}

// A Param is a parameter of a verb.
type Param struct {
	Name    string
	Kind    Kind
	Default string // as a script writes it, or what an optional argument is; "" if one is required
	Rest    Rest
}

// Required reports whether every call has the argument.
func (p Param) Required() bool { return p.Default == "" && p.Rest == Single }

// Rest says how many arguments a parameter takes.
type Rest int

const (
	Single     Rest = iota
	Positional      // any number of further arguments
	Named           // any number of arguments, named as the script likes
)

// parseSignature reads a signature such as
//
//	flare(piece, side edge, hem edge, by length, above length=None) piece
//
// A parameter has a name, a kind unless the name says it, and a default if it is
// optional. "..." repeats the last one. What is returned stands behind.
func parseSignature(s string) (params []Param, returns Kind, err error) {
	_, rest, _ := strings.Cut(s, "(")
	end := strings.LastIndex(rest, ")")
	if end < 0 {
		return nil, "", fmt.Errorf("signature %q: want name(parameters) result", s)
	}
	for _, text := range splitParams(rest[:end]) {
		if text == "..." {
			last := &params[len(params)-1]
			last.Rest = Positional
			if last.Default != "" {
				last.Rest = Named
			}
			continue
		}
		declared, value, _ := strings.Cut(text, "=")
		name, kind, said := strings.Cut(declared, " ")
		if !said {
			kind = name
		}
		p := Param{Name: name, Kind: Kind(kind), Default: value}
		if p.Kind.Words() == nil && !slices.Contains(kinds, p.Kind) {
			return nil, "", fmt.Errorf("signature %q: unknown kind %q", s, kind)
		}
		params = append(params, p)
	}
	returns = Kind(strings.TrimSpace(rest[end+1:]))
	if returns != KindNothing && !slices.Contains(kinds, returns) {
		return nil, "", fmt.Errorf("signature %q: unknown result %q", s, returns)
	}
	return params, returns, nil
}

// splitParams splits at ", ", which no default contains.
func splitParams(s string) []string {
	if s == "" {
		return nil
	}
	return strings.Split(s, ", ")
}

// Params returns the verb's parameters.
func (v Verb) Params() []Param { return v.params }

// Returns returns what the verb returns.
func (v Verb) Returns() Kind { return v.returns }

// Acts reports whether the verb's sentence is an instruction, such as "True up the
// hem of the back." Otherwise it is a phrase for a value, such as "the length of
// the hem of the back".
func (v Verb) Acts() bool {
	switch v.returns {
	case KindPiece, KindPieces, KindShape, KindSeam, KindFit, KindChoice, KindGarment, KindNothing:
		return true
	}
	return false
}

// Use returns how the verb is called: name(arguments).
func (v Verb) Use() string {
	var words []string
	for _, p := range v.params {
		word := p.Name
		if p.Default != "" {
			word += "=" + p.Default
		}
		words = append(words, word)
		if p.Rest != Single {
			words = append(words, "...")
		}
	}
	return v.Name() + "(" + strings.Join(words, ", ") + ")"
}

// Name returns the verb's name.
func (v Verb) Name() string {
	name, _, _ := strings.Cut(v.Signature, "(")
	return name
}
