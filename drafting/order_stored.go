package drafting

import (
	"encoding/json"
	"fmt"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
)

// storedVersion is the version of an order's JSON.
const storedVersion = 1

// storedOrder is an order as JSON, to be stored: lengths are mm and angles
// degrees. Unit is that in which the shop gave it.
type storedOrder struct {
	Version      int                `json:"version"`
	Unit         body.Unit          `json:"unit"`
	Measurements body.Measures      `json:"measurements,omitempty"`
	Block        string             `json:"block,omitempty"`
	Style        string             `json:"style,omitempty"`
	Fit          string             `json:"fit,omitempty"`
	Choices      map[string]any     `json:"choices,omitempty"` // words and numbers
	Ease         map[string]float64 `json:"ease,omitempty"`
	Allowances   map[string]float64 `json:"allowances,omitempty"`
	Alterations  *Alterations       `json:"alterations,omitempty"`
}

// MarshalJSON writes the order to be stored. Its label and its compiled garment
// are not part of it.
func (o Order) MarshalJSON() ([]byte, error) {
	s := storedOrder{storedVersion, o.Unit, o.Measurements, o.Block, o.Style, o.Fit, nil, o.Ease, o.Allowances, nil}
	if o.Choices != nil {
		s.Choices = make(map[string]any, len(o.Choices))
	}
	for name, v := range o.Choices {
		if s.Choices[name] = v.Word; v.Word == "" {
			s.Choices[name] = v.Number
		}
	}
	if a := o.Alterations; a.Both != nil || a.Left != nil || a.Right != nil {
		s.Alterations = &a
	}
	return json.Marshal(s)
}

// UnmarshalJSON reads an order that MarshalJSON wrote. An order of another
// version is an error.
func (o *Order) UnmarshalJSON(data []byte) error {
	var s storedOrder
	if err := json.Unmarshal(data, &s); err != nil {
		return err
	}
	if s.Version != storedVersion {
		return fmt.Errorf("stored order of version %d, want %d", s.Version, storedVersion)
	}
	*o = Order{Unit: s.Unit, Measurements: s.Measurements, Block: s.Block, Style: s.Style, Fit: s.Fit, Ease: s.Ease,
		Allowances: s.Allowances}
	if s.Choices != nil {
		o.Choices = make(map[string]block.Value, len(s.Choices))
	}
	for name, v := range s.Choices {
		switch v := v.(type) {
		case string:
			o.Choices[name] = block.Value{Word: v}
		case float64:
			o.Choices[name] = block.Value{Number: v}
		default:
			return fmt.Errorf("stored choice %s is neither a word nor a number", name)
		}
	}
	if s.Alterations != nil {
		o.Alterations = *s.Alterations
	}
	return nil
}
