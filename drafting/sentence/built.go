package sentence

import (
	"math"
	"slices"
	"strings"
	"sync"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// built are the groups of verbs of which a maker is told. What is left out, such as
// allowances, grain and cutting counts, is on the pieces and in the cutting list.
var built = []string{"Shape", "Darts", "Cut and join", "Derive"}

// shorter are the sentences for makers of verbs whose own tell what only the picture or
// the script shows.
var shorter = map[string]string{
	"cut":    "Cut {piece} into {names}[, taking the {through} into the seam][, with the {close} closed].",
	"dart":   "Put a dart {width} wide into the {edge} of {piece}, {at} along.",
	"facing": "Face the {edges} of {piece}[ {width} wide].",
	"pleat":  "Lay a pleat {width} wide and {depth} long into the {edge} of {piece}, from {at} along.",
	"pleats": "Lay {kind} pleats {depth} long into the {edge} of {piece}[, {count} of them][, each {width} wide].",
	"redraw": "Redraw the <{edge.name}> of {piece}.",
	"sunray": "Lay {count} sunray pleats into the {edge} of {piece}, {sewn} long as sewn.",
	"piece":  "", "copy": "",
}

// tellings are the sentences that makers are told, by verb.
var tellings = sync.OnceValue(func() map[string][]style.Phrase {
	all := map[string][]style.Phrase{}
	for _, v := range style.Verbs() {
		short, ok := shorter[v.Name()]
		switch {
		case ok && short != "":
			all[v.Name()], _ = style.ParseSentence(short, v.Params()) // a test reads them
		case !ok && (contains(built, v.Group) || v.Name() == "unfold"):
			all[v.Name()] = v.Phrases()
		}
	}
	return all
})

// tidy closes the gaps where a title is left out: it stands before the sentences.
var tidy = strings.NewReplacer(" ,", ",", " .", ".", "  ", " ")

// longest is the most bytes that are told of a piece.
const longest = 1200

func shortened(text string) string {
	if len(text) <= longest {
		return text
	}
	return strings.ToValidUTF8(text[:longest], "") + " …"
}

// Built says for each piece of a garment how it was built, in the order of its pieces
// and with lengths in unit: "Front: Lower the neckline of the front by 3 cm at the
// centre front." A piece that is the block's is left out. Where the sides of a body
// differ, what differs is said for each.
func Built(t *style.Trace, unit body.Unit) []string {
	sides := t.Histories()
	if len(sides) == 0 {
		return nil
	}
	all := builtSide(sides[0], unit)
	if len(sides) == 1 {
		return all
	}
	left := builtSide(sides[1], unit)
	if slices.Equal(all, left) {
		return all
	}
	var both []string
	for _, text := range all {
		if !contains(left, text) {
			text = "Right side, " + text
		}
		both = append(both, text)
	}
	for _, text := range left {
		if !contains(all, text) {
			both = append(both, "Left side, "+text)
		}
	}
	return both
}

func builtSide(histories []style.History, unit body.Unit) []string {
	var all []string
	for _, h := range histories {
		var said []string
		for _, c := range h.Calls {
			phrases, ok := tellings()[c.Verb().Name()]
			if !ok {
				continue
			}
			text := tidy.Replace(teller{c, unit}.tell(phrases, nil))
			if len(said) == 0 || said[len(said)-1] != text {
				said = append(said, text)
			}
		}
		if len(said) > 0 {
			all = append(all, shortened(h.Title+": "+strings.Join(said, " ")))
		}
	}
	return all
}

// A teller says a call with the values that it had.
type teller struct {
	call *style.TracedCall
	unit body.Unit
}

// tell says phrases. one is the argument of a repeated phrase, nil outside.
func (t teller) tell(phrases []style.Phrase, one *style.Datum) string {
	var said strings.Builder
	for _, p := range phrases {
		switch {
		case p.OfName && one != nil:
			said.WriteString(nameWords(one.Name))
		case p.Param != "":
			said.WriteString(t.blank(p.Param, one))
		case p.Repeat:
			said.WriteString(t.repeat(p.Parts))
		case p.Parts != nil:
			if t.isGiven(p.Parts) {
				said.WriteString(t.tell(p.Parts, one))
			}
		default:
			said.WriteString(p.Words)
		}
	}
	return said.String()
}

// repeated returns the parameter of a repeated phrase.
func (t teller) repeated(phrases []style.Phrase) style.Param {
	var found style.Param
	style.Blanks(phrases, func(b style.Phrase) {
		if p := t.param(b.Param); p.Rest != style.Single {
			found = p
		}
	})
	return found
}

func (t teller) repeat(phrases []style.Phrase) string {
	var all []string
	for _, d := range t.call.Arguments(t.repeated(phrases).Name) {
		all = append(all, t.tell(phrases, &d))
	}
	return joined(all)
}

// isGiven reports whether a maker is told one of the blanks of phrases. The name of a
// piece that has a title is none, nor is what only the picture shows.
func (t teller) isGiven(phrases []style.Phrase) bool {
	given := false
	style.Blanks(phrases, func(b style.Phrase) {
		p := t.param(b.Param)
		hidden := b.Param == "name" && t.param("title").Name != "" || drawn[p.Kind] != ""
		given = given || !hidden && len(t.call.Arguments(b.Param)) > 0
	})
	return given
}

func (t teller) param(name string) style.Param {
	for _, p := range t.call.Verb().Params() {
		if p.Name == name {
			return p
		}
	}
	return style.Param{}
}

func (t teller) blank(name string, one *style.Datum) string {
	p := t.param(name)
	if name == "title" {
		return ""
	}
	if one != nil && p.Rest != style.Single {
		return said(*one, p.Kind, t.unit)
	}
	var all []string
	for _, d := range t.call.Arguments(name) {
		all = append(all, said(d, p.Kind, t.unit))
	}
	return joined(all)
}

// drawn are the words for what only the picture shows.
var drawn = map[style.Kind]string{style.KindPath: "the drawn line", style.KindPoint: "the marked point",
	style.KindPoints: "the marked points", style.KindShape: "the drawn line", style.KindDirection: "as marked"}

// said says a value of a draft as a parameter of a kind.
func said(d style.Datum, kind style.Kind, unit body.Unit) string {
	switch d.Kind {
	case style.KindNumber:
		return saidNumber(d.Number, kind, unit)
	case style.KindText:
		return quoted(d.Text, kind)
	case style.KindTexts:
		texts := make([]string, len(d.Texts))
		for i, s := range d.Texts {
			texts[i] = quoted(s, kind)
		}
		return joined(texts)
	case style.KindLengths:
		texts := make([]string, len(d.List))
		for i, v := range d.List {
			texts[i] = saidNumber(v, kind, unit)
		}
		return joined(texts)
	case style.KindPosition:
		return tape(d.Number, unit) + " along the " + nameWords(d.Text)
	case style.KindPiece:
		return "the " + strings.ToLower(d.Text)
	case style.KindYesNo:
		if kind == style.KindYesNo {
			return map[bool]string{true: "", false: "not "}[d.Text == "yes"]
		}
		return d.Text
	}
	return drawn[kind]
}

func saidNumber(v float64, kind style.Kind, unit body.Unit) string {
	switch kind {
	case style.KindLength, style.KindLengths, style.KindPosition, style.KindLimits:
		return tape(v, unit)
	case style.KindAlong:
		if v < 0 {
			return tape(-v, unit) + " before its end"
		}
		return tape(v, unit) + " along"
	case style.KindAngle, style.KindDirection:
		return decimal(v, 10) + " degrees"
	case style.KindShare:
		if v == 0.5 {
			return "half"
		}
	}
	return decimal(v, 100)
}

// tape says a length as a tape reads it.
func tape(mm float64, unit body.Unit) string {
	if math.Abs(mm) < 10 {
		return unit.Said(mm)
	}
	return strings.TrimSuffix(unit.Tape(mm), ".0") + " " + string(unit)
}

// decimal returns v as text, rounded to the nearest multiple of 1/parts.
func decimal(v, parts float64) string { return writeNumber(math.Round(v*parts)/parts + 0) }
