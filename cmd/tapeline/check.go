package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/fault"
	"tapeline/service/files"
)

const checkAbout = `
Checks a file of measurements, {"unit": "cm", "measurements": {...}}, or a whole
order, and prints every measurement with where it comes from, and what seems not
to go with the rest, as questions. They judge numbers, by what is known of some
thousand fit adults, never people. "-" reads standard input. Exits with 0 where
nothing is wrong (questions are no faults), with 1 where there are faults, one
line each, and with 2 where the file could not be read.`

// checked is what the command prints with --json.
type checked struct {
	Unit         body.Unit        `json:"unit,omitempty"` // of the file
	Measurements []checkedMeasure `json:"measurements"`
	Faults       fault.List       `json:"faults"`
	Findings     []checkedFinding `json:"findings"`
}

// checkedFinding is a number that seems not to go with the others.
type checkedFinding struct {
	Level       plausible.Level       `json:"level"`
	Field       string                `json:"field"`
	Related     []string              `json:"related,omitempty"`
	Explanation plausible.Explanation `json:"explanation"`
	Question    string                `json:"question"`
	Chance      float64               `json:"chance"` // that the number is wrong, from 0 to 1
	ExpectedMM  *expectedMM           `json:"expected_mm,omitempty"`
	CorrectedMM body.Measures         `json:"corrected_mm,omitempty"`
}

// expectedMM is what a measurement is by all the others; 19 bodies of 20 with
// those lie from low to high.
type expectedMM struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

type checkedMeasure struct {
	Name      body.Name `json:"name"`
	Value     float64   `json:"value"` // in unit
	Unit      body.Unit `json:"unit"`
	MM        float64   `json:"value_mm,omitempty"`
	Spread    float64   `json:"spread,omitempty"` // of an estimate, in unit: standard deviation
	Estimated bool      `json:"estimated"`
	Source    string    `json:"source,omitempty"`
}

func runCheck(_ context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	fs := newFlags("check", "MEASUREMENTS.json", checkAbout, stderr)
	asJSON := fs.Bool("json", false, "print as JSON")
	positional, code, ok := parseFlags(fs, args, "a file")
	if !ok {
		return code
	}
	file := positional[0]
	data, err := readInput(file, stdin)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline check: %v\n", err)
		return exitUsage
	}
	unit, person, faults := checkInput(data)
	findings := findingsOf(data)
	if *asJSON {
		err = printCheckedJSON(stdout, unit, person, faults, findings)
	} else {
		err = printChecked(stdout, unit, person)
		for _, f := range findings {
			fmt.Fprintf(stdout, "%s: %s\n", f.Level, f.Question)
		}
		printFaults(stderr, file, faults)
	}
	if err != nil {
		fmt.Fprintf(stderr, "tapeline check: %v\n", err)
		return exitUsage
	}
	if len(faults) > 0 {
		return exitFaults
	}
	return exitDone
}

// checkInput reads measurements alone, or an order.
func checkInput(data []byte) (body.Unit, body.Body, fault.List) {
	var of struct{ Reference, Block json.RawMessage }
	if json.Unmarshal(data, &of) != nil || of.Reference == nil && of.Block == nil {
		unit, person, err := files.ParseMeasurements(data)
		return unit, person, faultsOf(err)
	}
	o, err := files.ParseOrder(data)
	if err != nil {
		return "", body.Body{}, faultsOf(err)
	}
	_, r, err := o.Request()
	return o.Unit, r.Body, faultsOf(err)
}

// measuresOf lists a body's measurements in the order in which they are shown.
func measuresOf(unit body.Unit, person body.Body) []checkedMeasure {
	list := []checkedMeasure{}
	for _, info := range body.All() {
		if !person.Has(info.Name) {
			continue
		}
		m := person.Get(info.Name)
		c := checkedMeasure{Name: info.Name, Value: m.Value, Unit: info.Unit, Spread: m.Spread, Estimated: m.Estimated, Source: m.Source}
		if info.Unit != body.Degree {
			c.Value, c.Unit, c.MM, c.Spread = unit.From(m.Value), unit, m.Value, unit.From(m.Spread)
		}
		list = append(list, c)
	}
	return list
}

func printChecked(w io.Writer, unit body.Unit, person body.Body) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	formulas := false
	for _, m := range measuresOf(unit, person) {
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
		fmt.Fprint(t, "\nFormulas are in mm; practice: what the trade commonly does. Two estimates of three are off by no more than their spread.\n")
	}
	return t.Flush()
}

func printCheckedJSON(w io.Writer, unit body.Unit, person body.Body, faults fault.List, findings []checkedFinding) error {
	if faults == nil {
		faults = fault.List{}
	}
	return writeJSON(w, checked{Unit: unit, Measurements: measuresOf(unit, person), Faults: faults, Findings: findings})
}

// findingsOf holds the measurements of a file against the model of bodies, also
// where some are out of range: all in inches explains many faults at once.
func findingsOf(data []byte) []checkedFinding {
	list := []checkedFinding{}
	unit, given := files.ReadMeasurements(data)
	if unit == "" {
		return list
	}
	for _, f := range plausible.Default().Assess(unit, given).Findings {
		one := checkedFinding{Level: f.Level, Chance: math.Round(1e3*f.Odds/(1+f.Odds)) / 1e3, Field: f.Field, Related: f.Related, Explanation: f.Explanation, Question: f.Question, CorrectedMM: f.Corrected}
		if f.Name != "" {
			one.ExpectedMM = &expectedMM{math.Round(f.Expected), math.Round(f.Low), math.Round(f.High)}
		}
		list = append(list, one)
	}
	return list
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
