package drafting

import (
	"encoding/json"
	"fmt"
	"maps"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// storedVersion is the version of StoredOrder.
const storedVersion = 1

// StoredOrder is the form in which an order is stored as JSON: lengths are mm,
// whatever unit the shop gave them in. Measurements, alterations and the label
// are not part of it: they belong to the customer, and can be erased.
type StoredOrder struct {
	Version    int                     `json:"version"`
	Unit       body.Unit               `json:"unit"`            // the shop's
	Block      string                  `json:"block,omitempty"` // or Style
	Style      string                  `json:"style,omitempty"` // by its slug
	Fit        string                  `json:"fit"`
	Choices    map[string]StoredChoice `json:"choices,omitempty"`
	Ease       map[string]float64      `json:"ease,omitempty"`
	Allowances map[string]float64      `json:"allowances,omitempty"`
}

// Stored returns the order's stored form.
func (o Order) Stored() StoredOrder {
	s := StoredOrder{Version: storedVersion, Unit: o.Unit, Block: o.Block, Style: o.Style, Fit: o.Fit, Ease: o.Ease,
		Allowances: o.Allowances}
	for name, v := range o.Choices {
		if s.Choices == nil {
			s.Choices = make(map[string]StoredChoice, len(o.Choices))
		}
		s.Choices[name] = StoredChoice(v)
	}
	return s
}

// Order returns the order to draft to measures. The garment is its style,
// compiled; nil for a block or a built-in style. An order stored in another
// version is an error.
func (s StoredOrder) Order(measures body.Measures, garment *style.Style) (Order, error) {
	if s.Version != storedVersion {
		return Order{}, fmt.Errorf("stored order of version %d, want %d", s.Version, storedVersion)
	}
	o := Order{Told: true, Unit: s.Unit, Measurements: measures, Block: s.Block, Style: s.Style, Garment: garment,
		Fit: s.Fit, Ease: s.Ease, Allowances: s.Allowances}
	for name, v := range s.Choices {
		if o.Choices == nil {
			o.Choices = make(map[string]block.Value, len(s.Choices))
		}
		o.Choices[name] = block.Value(v)
	}
	return o, nil
}

// Input returns the order as the shop gave it, without measurements and
// alterations.
func (s StoredOrder) Input() OrderInput {
	in := OrderInput{Unit: string(s.Unit), Block: s.Block, Style: s.Style, Fit: s.Fit, Ease: s.inUnit(s.Ease),
		Allowances: s.inUnit(s.Allowances)}
	for name, v := range s.Choices {
		if in.Choices == nil {
			in.Choices = make(map[string]any, len(s.Choices))
		}
		switch {
		case v.Word != "":
			in.Choices[name] = v.Word
		case v.Length:
			in.Choices[name] = s.Unit.From(v.Number)
		default:
			in.Choices[name] = v.Number
		}
	}
	return in
}

func (s StoredOrder) inUnit(lengths map[string]float64) map[string]float64 {
	given := maps.Clone(lengths)
	for name, mm := range given {
		given[name] = s.Unit.From(mm)
	}
	return given
}

// WithFit returns the order in another fit of its block or style, with ease in
// mm over what it has.
func (s StoredOrder) WithFit(fit string, ease map[string]float64) StoredOrder {
	s.Fit = fit
	if len(ease) > 0 {
		own := maps.Clone(s.Ease)
		if own == nil {
			own = map[string]float64{}
		}
		maps.Copy(own, ease)
		s.Ease = own
	}
	return s
}

// StoredChoice is a choice as JSON: a word, a number, or {"mm": number}.
type StoredChoice block.Value

type storedLength struct {
	MM float64 `json:"mm"`
}

func (c StoredChoice) MarshalJSON() ([]byte, error) {
	switch {
	case c.Word != "":
		return json.Marshal(c.Word)
	case c.Length:
		return json.Marshal(storedLength{c.Number})
	}
	return json.Marshal(c.Number)
}

func (c *StoredChoice) UnmarshalJSON(data []byte) error {
	*c = StoredChoice{}
	if json.Unmarshal(data, &c.Word) == nil || json.Unmarshal(data, &c.Number) == nil {
		return nil
	}
	var l storedLength
	err := json.Unmarshal(data, &l)
	c.Number, c.Length = l.MM, true
	return err
}
