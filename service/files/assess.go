package files

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/fault"
)

// Assessment is the judgement of the measurements in a file. Its JSON form is
// what `tapeline assess --json` prints.
type Assessment struct {
	Unit         body.Unit     `json:"unit,omitempty"` // of the file
	Measurements []measurement `json:"measurements"`
	Faults       fault.List    `json:"faults"`
	Findings     []finding     `json:"findings"`
}

// measurement is a given or estimated measurement.
type measurement struct {
	Name      body.Name `json:"name"`
	Value     float64   `json:"value"` // in unit
	Unit      body.Unit `json:"unit"`
	MM        float64   `json:"value_mm,omitempty"`
	Spread    float64   `json:"spread,omitempty"` // standard deviation of an estimate, in unit
	Estimated bool      `json:"estimated"`
	Source    string    `json:"source,omitempty"`
}

// finding is a number that does not fit the others.
type finding struct {
	Level       plausible.Level       `json:"level"`
	Field       string                `json:"field"`
	Related     []string              `json:"related,omitempty"`
	Explanation plausible.Explanation `json:"explanation"`
	Question    string                `json:"question"`
	Chance      float64               `json:"chance"` // of a mistake, from 0 to 1
	ExpectedMM  *expected             `json:"expected_mm,omitempty"`
	CorrectedMM body.Measures         `json:"corrected_mm,omitempty"`
}

// expected is the measurement that all others lead to. Of 20 bodies that share
// those, 19 lie between the limits.
type expected struct {
	Value float64 `json:"value"`
	Min   float64 `json:"min"`
	Max   float64 `json:"max"`
}

// Assess reads a file of measurements, or an order, and assesses the
// measurements. Findings are reported even for numbers out of range: one of
// them may explain many faults at once, as all numbers being in inches does.
func Assess(data []byte) Assessment {
	unit, person, faults := readBody(data)
	if faults == nil {
		faults = fault.List{}
	}
	return Assessment{unit, measurements(unit, person), faults, findings(data)}
}

// readBody reads a file of measurements, or those of an order.
func readBody(data []byte) (body.Unit, body.Body, fault.List) {
	var head struct{ Reference, Block, Style json.RawMessage }
	if json.Unmarshal(data, &head) != nil || head.Reference == nil && head.Block == nil && head.Style == nil {
		unit, person, err := ParseMeasurements(data)
		return unit, person, FaultsOf(err)
	}
	o, err := ParseOrder(data)
	if err != nil {
		return "", body.Body{}, FaultsOf(err)
	}
	_, r, err := o.Request()
	return o.Unit, r.Body, FaultsOf(err)
}

// measurements lists a body's measurements in their usual order.
func measurements(unit body.Unit, person body.Body) []measurement {
	list := []measurement{}
	for _, info := range body.All() {
		if !person.Has(info.Name) {
			continue
		}
		m := person.Get(info.Name)
		c := measurement{Name: info.Name, Value: m.Value, Unit: info.Unit, Spread: m.Spread,
			Estimated: m.Estimated, Source: m.Source}
		if info.Unit != body.Degree {
			c.Value, c.Unit, c.MM, c.Spread = unit.From(m.Value), unit, m.Value, unit.From(m.Spread)
		}
		list = append(list, c)
	}
	return list
}

func findings(data []byte) []finding {
	list := []finding{}
	unit, given := ReadMeasurements(data)
	if unit == "" {
		return list
	}
	for _, f := range plausible.Default().Assess(unit, given).Findings {
		one := finding{Level: f.Level, Field: f.Field, Related: f.Related, Explanation: f.Explanation, Question: f.Question,
			Chance: math.Round(1e3*f.Odds/(1+f.Odds)) / 1e3, CorrectedMM: f.Corrected}
		if f.Name != "" {
			one.ExpectedMM = &expected{math.Round(f.Expected), math.Round(f.Low), math.Round(f.High)}
		}
		list = append(list, one)
	}
	return list
}

// WriteJSON writes the assessment as JSON.
func (a Assessment) WriteJSON(w io.Writer) error { return writeJSON(w, a) }

// WriteText writes the measurements and the questions about them.
func (a Assessment) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	formulas := false
	for _, m := range a.Measurements {
		origin := "given"
		switch {
		case m.Estimated:
			origin = "estimated: " + m.Source + "; spread " + decimals(m.Spread, 1)
			formulas = true
		case m.Source != "":
			origin = "from " + m.Source
		}
		fmt.Fprintf(t, "%s\t%s %s\t%s\n", m.Name, decimals(m.Value, 2), m.Unit, origin)
	}
	if formulas {
		fmt.Fprint(t, "\nFormulas are in mm; practice: common practice of the trade. Two bodies in three differ from an "+
			"estimate "+
			"by at most its spread.\n")
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, f := range a.Findings {
		if _, err := fmt.Fprintf(w, "%s: %s\n", f.Level, f.Question); err != nil {
			return err
		}
	}
	return nil
}
