package sentence

import (
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/style"
)

// A Pick is something that was picked in the picture of a pattern.
type Pick struct {
	Kind  style.Kind // KindPiece, KindEdge, KindDart, KindLine or KindMark
	Piece string     // its name
	As    string     // the variable that holds the piece
	Name  string     // of the edge, dart, line or mark

	// Before and After are the neighbours of an edge, clockwise.
	Before, After string

	// Title is that of the piece, as lettered.
	Title string

	// Others are the other pieces that have most edges of the piece, and an edge that was
	// picked, and the variables that hold them: the back of a front.
	Others []Held
}

// Held is a piece and the variable that holds it.
type Held struct{ Piece, As string }

// An Offer is a sentence that can be said of something picked, with first guesses.
type Offer struct {
	Call
	Sentence string   // with {blanks}
	Missing  []string // the blanks that it needs and for which there is no guess
}

// Offers returns the sentences that can be said of a pick, in the order of the
// reference. The guesses are those of the verbs' examples.
func Offers(p Pick) []Offer {
	var all []Offer
	for _, v := range style.Verbs() {
		if !v.Acts() || !concerns(v, p) {
			continue
		}
		o := Offer{Call: Call{Verb: v.Name()}, Sentence: v.Sentence}
		picked := false
		for _, q := range v.Params() {
			args, uses := p.guess(v, q, !picked)
			picked = picked || uses
			o.Args = append(o.Args, args...)
			named, makes := newPieces(v) // the name is made of the title
			if len(args) == 0 && (q.Required() || q.Rest == style.Named) && !(makes && q.Name == named) {
				o.Missing = append(o.Missing, q.Name)
			}
		}
		all = append(all, o)
	}
	return all
}

// concerns reports whether a verb changes the piece of a pick at what was picked, or
// sews the edge.
func concerns(v style.Verb, p Pick) bool {
	params := v.Params()
	if len(params) > 0 && params[0].Kind == style.KindSewn {
		return p.Kind == style.KindEdge
	}
	if len(params) == 0 || params[0].Kind != style.KindPiece && params[0].Kind != style.KindShape {
		return false
	}
	if p.Kind == style.KindEdge && v.Name() == p.Name+"s" { // necklines
		return true
	}
	if p.Kind == style.KindPiece {
		return !slices.ContainsFunc(params, func(q style.Param) bool {
			return q.Required() && isPart(q.Kind) || namesEdges(q)
		})
	}
	return slices.ContainsFunc(params, func(q style.Param) bool {
		return matches(q.Kind, p.Kind) || p.Kind == style.KindEdge && namesEdges(q)
	})
}

// isPart reports whether a parameter takes the name of a part of a piece.
func isPart(k style.Kind) bool {
	return slices.Contains([]style.Kind{style.KindEdge, style.KindEdges, style.KindDart, style.KindDarts, style.KindLine,
		style.KindMark, style.KindPosition}, k)
}

// namesEdges reports whether the names of a parameter's arguments are edges.
func namesEdges(q style.Param) bool { return q.Rest == style.Named && q.Name == "edge" }

// matches reports whether a parameter takes what was picked.
func matches(param, picked style.Kind) bool {
	return param == picked || param == style.KindEdges && picked == style.KindEdge ||
		param == style.KindDarts && picked == style.KindDart
}

// guess returns the arguments to begin with. uses reports whether they are what was
// picked, which the first fitting parameter takes.
func (p Pick) guess(v style.Verb, q style.Param, first bool) (args []Arg, uses bool) {
	if first {
		if args, uses := p.picked(v, q); uses {
			return args, true
		}
	}
	one := func(value Value) []Arg { return []Arg{{Param: q.Name, Value: value}} }
	if args, ok := p.naming(v, q); ok {
		return args, false
	}
	if args := p.beside(v, q); args != nil {
		return args, false
	}
	switch {
	case q.Kind == style.KindPiece || q.Kind == style.KindShape:
		held := p.held(v, q)
		if held == "" {
			return nil, false
		}
		return one(Value{Form: Variable, Word: held}), false
	case !q.Required():
		return nil, false
	}
	if value, ok := exampleOf(v, q); ok {
		return one(value), false
	}
	if q.Kind == style.KindLength && p.Kind == style.KindEdge {
		return one(Value{Form: EdgeLength, Piece: p.As, Word: p.Name}), false
	}
	return nil, false
}

// beside returns the guess that what lies beside the pick makes, nil if it makes none.
func (p Pick) beside(v style.Verb, q style.Param) []Arg {
	one := func(value Value) []Arg { return []Arg{{Param: q.Name, Value: value}} }
	switch {
	case q.Kind == style.KindSewn && q.Name == "b" && strings.HasPrefix(p.Name, "centre"):
		return nil // sewn to its own mirror image
	case q.Kind == style.KindSewn && q.Name == "b" && len(p.Others) > 0:
		return one(Value{Form: Word, Word: p.Others[0].Piece + "/" + p.Name})
	case q.Name == "passes":
		return one(Value{Form: Word, Word: passing(p.Name)})
	case q.Rest == style.Named && q.Name == "neighbour" && p.Before != "" && p.After != "":
		value, _ := exampleOf(v, q)
		first, second := p.Before, p.After
		if strings.HasPrefix(second, "centre") { // whichever way round a piece lies
			first, second = second, first
		}
		return []Arg{{q.Name, first, value}, {q.Name, second, value}}
	case q.Kind == style.KindEdge && p.After != "":
		if p.Before == "hem" {
			return one(Value{Form: Word, Word: p.Before})
		}
		return one(Value{Form: Word, Word: p.After})
	}
	return nil
}

// naming returns the guess for the name or the title of what a verb makes. A name is left
// out: Add makes one of the title.
func (p Pick) naming(v style.Verb, q style.Param) (args []Arg, ok bool) {
	param, makes := newPieces(v)
	switch {
	case makes && q.Name == param && q.Kind == style.KindName:
		return nil, true
	case makes && q.Name == "title" && p.Title != "":
		return []Arg{{Param: q.Name, Value: Value{Form: Word, Word: p.titleOf(v)}}}, true
	}
	return nil, false
}

// held returns the variable for a parameter that takes a piece: that of the pick, or for
// a second one that of another piece, a front before a back. It is "" if there is none.
func (p Pick) held(v style.Verb, q style.Param) string {
	first, second := p.As, ""
	if len(p.Others) > 0 && v.Name() != "join" {
		second = p.Others[0].As
		if strings.Contains(p.Others[0].Piece, "front") && v.Params()[0].Name == "front" {
			first, second = second, first
		}
	}
	if q.Name == v.Params()[0].Name {
		return first
	}
	return second
}

// titleOf returns the title of what a verb makes of the pick.
func (p Pick) titleOf(v style.Verb) string {
	made := nameWords(v.Name())
	switch v.Name() {
	case "bind":
		name := nameWords(p.Name)
		return strings.ToUpper(name[:1]) + name[1:] + " binding"
	case "panel":
		made = "skirt"
		if p.Name != "hem" && p.Name != "waist" {
			made = "frill"
		}
	case "facing":
		made = nameWords(p.Name) + " facing"
	}
	return p.Title + " " + made
}

// passing returns the part of the body that passes an edge.
func passing(edge string) string {
	for _, known := range []struct{ part, passes string }{{"neck", "head"}, {"armhole", "arm"}, {"waist", "hips"},
		{"sleeve", "hand"}} {
		if strings.Contains(edge, known.part) {
			return known.passes
		}
	}
	return "hand"
}

// picked returns the arguments of a parameter that takes what was picked.
func (p Pick) picked(v style.Verb, q style.Param) (args []Arg, uses bool) {
	switch {
	case q.Kind == style.KindSewn && v.Returns() != style.KindSeam && len(p.Others) > 0:
		all := []string{p.Piece + "/" + p.Name}
		for _, o := range p.Others {
			all = append(all, o.Piece+"/"+p.Name)
		}
		return []Arg{{Param: q.Name, Value: Value{Form: Words, Words: all}}}, true
	case q.Kind == style.KindSewn:
		return []Arg{{Param: q.Name, Value: Value{Form: Word, Word: p.Piece + "/" + p.Name}}}, true
	case q.Kind == style.KindPiece: // held takes it
		return nil, false
	case matches(q.Kind, p.Kind):
		return []Arg{{Param: q.Name, Value: Value{Form: Word, Word: p.Name}}}, true
	case namesEdges(q) && p.Kind == style.KindEdge:
		if value, ok := exampleOf(v, q); ok {
			return []Arg{{q.Name, p.Name, value}}, true
		}
		return nil, true
	}
	return nil, false
}

// usual are first guesses for parameters without an example: an allowance of 10 mm, a
// role.
var usual = map[string]Value{"allow": {Form: Number, Number: 10}, "role": {Form: Word, Word: "edge"}}

// exampleOf returns the number or word that the verb's example has for a parameter.
func exampleOf(v style.Verb, q style.Param) (Value, bool) {
	if value, ok := usual[v.Name()]; ok {
		return value, true
	}
	e, err := style.Parse([]byte("def example(block):\n    " + indented(v.Example()) + "\n"))
	if err != nil {
		return Value{}, false
	}
	var found *Value
	syntax.Walk(e, func(n syntax.Node) bool {
		call, ok := n.(*syntax.CallExpr)
		if !ok || nameOf(call.Fn) != v.Name() || found != nil {
			return true
		}
		args, err := bind(v, call)
		if err != nil || len(args[q.Name]) == 0 {
			return true
		}
		if value := formOf(args[q.Name][0].expr); value.Form == Number || value.Form == Word {
			found = &value
		}
		return true
	})
	if found == nil {
		return Value{}, false
	}
	return *found, true
}
