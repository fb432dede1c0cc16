package style

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
)

// Form returns the JSON Schema (draft 2020-12) of an order for the style, from
// which a shop builds its form: the measurements, the fits and the choices with
// their titles, help and limits in unit, and which measurements the choices
// require. Properties are in the order of display.
func (s *Style) Form(unit body.Unit) map[string]any {
	d := s.Describe(unit)
	return form{spec: s.Spec(), kind: "style", unit: unit, about: d.About, fits: d.Fits, choices: d.Choices}.schema()
}

// BlockForm returns Form for a block.
func BlockForm(spec block.Spec, unit body.Unit) map[string]any {
	f := form{spec: spec, kind: "block", unit: unit}
	for _, fit := range spec.Fits {
		f.fits = append(f.fits, FitDescription{Name: fit.Name})
	}
	for _, c := range spec.Choices {
		choice := describeChoice(c, unit)
		choice.Spares = map[string][]body.Name{}
		for word, spared := range c.Spares {
			choice.Spares[word] = slices.Concat(spared.Estimated, spared.Unused)
		}
		f.choices = append(f.choices, choice)
	}
	return f.schema()
}

// form is a JSON Schema in the making.
type form struct {
	spec    block.Spec
	kind    string // block or style: the field of an order that names it
	unit    body.Unit
	about   string
	fits    []FitDescription
	choices []ChoiceDescription
}

// object is a JSON object.
type object = map[string]any

// properties is a JSON object whose fields have an order.
type properties []property

type property struct {
	name   string
	schema object
}

// MarshalJSON writes the properties in their order.
func (p properties) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, field := range p {
		if i > 0 {
			b.WriteByte(',')
		}
		text, err := json.Marshal(object{field.name: field.schema})
		if err != nil {
			return nil, err
		}
		b.Write(text[1 : len(text)-1])
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

func (f form) schema() object {
	choices := make(properties, len(f.choices))
	for i, c := range f.choices {
		choices[i] = property{c.Name, c.schema(f.unit)}
	}
	s := object{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   titled(f.spec.Title),
		"type":    "object",
		"properties": properties{
			{f.kind, object{"const": f.spec.Name}},
			{"unit", object{"const": string(f.unit)}},
			{"measurements", f.measurements()},
			{"fit", f.fit()},
			{"choices", object{"type": "object", "additionalProperties": false, "properties": choices}},
			{"ease", object{"type": "object", "additionalProperties": false, "properties": f.ease()}},
		},
		"required": []string{f.kind, "unit", "measurements"},
	}
	if f.about != "" {
		s["description"] = f.about
	}
	if rules := append(f.conditions(), f.exclusions()...); len(rules) > 0 {
		s["allOf"] = rules
	}
	return s
}

// measurements returns the schema of the measurements: those that every order
// requires, those that some choices require, and those that are estimated where
// they are not given. An order may give another measurement in place of some that
// are required, such as the height for the body rise; the form asks for the best.
func (f form) measurements() object {
	fields := properties{}
	asked := slices.Concat(f.spec.Requires, f.spec.Uses)
	var oneOfThem []object
	for _, alternatives := range body.Alternatives(f.spec.Requires, f.spec.Uses) {
		var given []object
		for _, n := range alternatives {
			given = append(given, object{"required": []body.Name{n}})
		}
		oneOfThem = append(oneOfThem, object{"anyOf": given})
		asked = append(asked, block.Without(alternatives, asked)...)
	}
	for _, n := range asked {
		info, _ := body.Lookup(n)
		unit := f.unit.Of(n)
		lo, hi := roundInward(unit, info.Min, info.Max)
		fields = append(fields, property{string(n), object{"type": "number", "minimum": lo, "maximum": hi,
			"title": titled(info.Title), "description": sentence(info.How), "x-unit": unit}})
	}
	var known []body.Name
	for _, info := range body.All() {
		known = append(known, info.Name)
	}
	spared := f.spared()
	required := slices.DeleteFunc(slices.Clone(f.spec.Requires), func(n body.Name) bool { return spared[n] != "" })
	s := object{"type": "object", "title": "Measurements", "properties": fields, "required": required,
		"propertyNames": object{"enum": known}, "additionalProperties": object{"type": "number"}}
	if len(oneOfThem) > 0 {
		s["allOf"] = oneOfThem
	}
	return s
}

func (f form) fit() object {
	var options []object
	for _, fit := range f.fits {
		o := object{"const": fit.Name, "title": titled(fit.Name)}
		if fit.Help != "" {
			o["description"] = fit.Help
		}
		options = append(options, o)
	}
	return object{"title": "Fit", "oneOf": options, "default": f.fits[0].Name}
}

// ease returns the ease that an order of any fit may give.
func (f form) ease() properties {
	fields := properties{}
	for _, e := range f.spec.Fits[0].Ease {
		lo, hi := e.Min, e.Max
		for _, fit := range f.spec.Fits {
			for _, o := range fit.Ease {
				if o.Name == e.Name {
					lo, hi = min(lo, o.Min), max(hi, o.Max)
				}
			}
		}
		lo, hi = roundInward(f.unit, lo, hi)
		fields = append(fields, property{e.Name, object{"type": "number", "minimum": lo, "maximum": hi,
			"title": titled(e.Name), "x-unit": f.unit}})
	}
	return fields
}

// spared returns the measurements that an order need not give with some choice,
// each with a text that equals another's if the same words spare both.
func (f form) spared() map[body.Name]string {
	words := map[body.Name]string{}
	for _, c := range f.choices {
		for _, word := range slices.Sorted(maps.Keys(c.Spares)) {
			for _, n := range c.Spares[word] {
				if slices.Contains(f.spec.Requires, n) {
					words[n] += c.Name + "=" + word + " "
				}
			}
		}
	}
	return words
}

// conditions returns an if and then for each group of measurements that choices
// spare: unless one of those words is chosen, or is the default of a choice that
// is left out, the measurements are required.
func (f form) conditions() []object {
	spared := f.spared()
	groups := map[string][]body.Name{}
	var order []string
	for _, n := range f.spec.Requires {
		by := spared[n]
		if by == "" {
			continue
		}
		if groups[by] == nil {
			order = append(order, by)
		}
		groups[by] = append(groups[by], n)
	}
	var rules []object
	for _, by := range order {
		var needed properties
		var given []string
		for _, c := range f.choices {
			var words []any
			for _, word := range slices.Sorted(maps.Keys(c.Spares)) {
				if slices.Contains(c.Spares[word], groups[by][0]) {
					words = append(words, c.value(word))
				}
			}
			if len(words) == 0 {
				continue
			}
			needed = append(needed, property{c.Name, object{"not": object{"enum": words}}})
			if slices.Contains(words, c.Default) {
				given = append(given, c.Name)
			}
		}
		rules = append(rules, object{"if": choosing(needed, given),
			"then": object{"properties": object{"measurements": object{"required": groups[by]}}}})
	}
	return rules
}

// exclusions returns a rule against each combination of words that is refused.
func (f form) exclusions() []object {
	var rules []object
	for _, e := range f.spec.Excludes {
		var given []string
		both := properties{{e.Choice, object{"const": e.Word}}, {e.Beside, object{"const": e.Chosen}}}
		for _, c := range f.choices {
			for _, p := range both {
				if c.Name == p.name && c.Default != p.schema["const"] {
					given = append(given, c.Name)
				}
			}
		}
		rules = append(rules, object{"not": choosing(both, given)})
	}
	return rules
}

// choosing returns the schema of orders whose choices match. Those in given have
// no default that matches, so the order must make them.
func choosing(choices properties, given []string) object {
	if len(given) == 0 {
		return object{"properties": object{"choices": object{"properties": choices}}}
	}
	return object{"properties": object{"choices": object{"properties": choices, "required": given}},
		"required": []string{"choices"}}
}

// value returns a word of the choice as an order gives it.
func (c ChoiceDescription) value(word string) any {
	if c.Kind == block.KindYesNo {
		return word == "yes"
	}
	return word
}

func (c ChoiceDescription) schema(unit body.Unit) object {
	var words []object
	for _, o := range c.Options {
		words = append(words, object{"const": o, "title": titled(o)})
	}
	var s object
	switch c.Kind {
	case block.KindYesNo:
		s = object{"type": "boolean"}
	case block.KindOption:
		s = object{"oneOf": words}
	case block.KindCount:
		s = object{"type": "integer", "minimum": *c.Min, "maximum": *c.Max}
	default:
		s = object{"type": "number", "minimum": *c.Min, "maximum": *c.Max}
		if c.Kind == block.KindLength {
			s["x-unit"] = unit
		}
		if len(words) > 0 {
			s["title"] = "Length"
			s = object{"oneOf": append(words, s)}
		}
	}
	s["title"], s["description"], s["default"] = titled(c.Name), c.Help, c.Default
	return s
}

// titled returns a name as the title of a field: Three quarter for three_quarter.
func titled(name string) string { return capital(strings.ReplaceAll(name, "_", " ")) }

// sentence returns a phrase as a sentence.
func sentence(phrase string) string { return capital(phrase) + "." }

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
