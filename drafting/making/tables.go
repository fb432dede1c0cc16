package making

import (
	"fmt"
	"math"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/cloth"
	"tapeline/drafting/finish"
)

// cuttingList lists the pieces by the cloth that they are cut from.
func (s *setter) cuttingList(p finish.Pattern) {
	for _, name := range cloth.Names(p) {
		t := table{title: "Cut from " + name, columns: []column{{name: "Piece", number: true},
			{name: "Name", flexible: true}, {name: "Cut"}, {name: "Grain"}, {name: "Interfacing"},
			{name: "Notes", flexible: true}}}
		for i := range p.Pieces {
			q := &p.Pieces[i]
			cut := q.Cut.String()
			switch {
			case name == cloth.Interfacing && q.Interfacing > 0 && q.Cloth != name:
				cut = fmt.Sprintf("Cut %d", q.Interfacing)
			case cloth.Of(*q) != name:
				continue
			}
			fused := ""
			if q.Interfacing > 0 && name != cloth.Interfacing {
				fused = fmt.Sprintf("cut %d", q.Interfacing)
			}
			t.row(fmt.Sprint(i+1), titleOf(q.Piece), cut, grainOf(q), fused, strings.Join(q.Notes, " "))
		}
		s.table(&t)
	}
}

// clothWidths are the widths that cloth is commonly sold in, mm (common practice).
var clothWidths = []float64{900, 1150, 1400, 1500}

// clothToBuy lists the lengths of cloth by its width.
func (s *setter) clothToBuy(p finish.Pattern, unit body.Unit) {
	t := table{title: "Cloth to buy", columns: []column{{name: "Width", flexible: true}}}
	for _, w := range clothWidths {
		t.columns = append(t.columns, column{name: unit.Format(roundTo(w, unit, 1)), number: true})
	}
	for _, n := range cloth.Needs(p, clothWidths) {
		cells := []string{words(n.Cloth)}
		for _, mm := range n.Lengths {
			if mm == 0 {
				cells = append(cells, "too narrow")
				continue
			}
			cells = append(cells, unit.Format(roundTo(mm, unit, buyStep[unit])))
		}
		if n.Lengths[len(n.Lengths)-1] == 0 {
			cells[0] += fmt.Sprintf(", at least %s wide", unit.Format(roundTo(n.Narrow, unit, 1)))
		}
		t.row(cells...)
	}
	t.note = "Single layer, no nap, selvedges of 10 mm left free, pieces laid one after another: a lay plan " +
		"saves some of it. Add what the cloth shrinks, and more to match a pattern."
	s.table(&t)
	if i := p.Instructions; i != nil && len(i.Cloths) > 0 {
		s.list("Cloth that suits", i.Cloths)
	}
}

// buyStep is the step in the unit to which a length to buy is rounded up.
var buyStep = map[body.Unit]float64{body.Centimetre: 5, body.Inch: 3}

// roundTo rounds a length in mm up to a step in the unit.
func roundTo(mm float64, unit body.Unit, step float64) float64 {
	return unit.MM(math.Ceil(unit.From(mm)/step-1e-6) * step)
}

// finished lists the measures read back from the pattern beside those of the body,
// with how far a sewn garment may differ.
func (s *setter) finished(p finish.Pattern, unit body.Unit) {
	t := table{title: "Finished measurements", columns: []column{{name: "Measure", flexible: true},
		{name: "Body", number: true}, {name: "Altered by", number: true}, {name: "Ease", number: true},
		{name: "Finished", number: true}, {name: "Sewn within", number: true}}}
	ofBlock := false
	worn := wornTitles(p)
	for _, c := range p.Checks {
		if c.OfSeam() {
			continue
		}
		title, block := finishedTitle(c.Name, worn)
		ofBlock = ofBlock || block
		if c.AtLeast && c.Drafted == 0 {
			t.row(title, "", "", "", "opens whole", "")
			continue
		}
		ease := c.Ease
		if c.AtLeast {
			ease = c.Drafted - c.Body // more than the least one
		}
		bodyText, altered, easeText := "", "", ""
		if c.Body != 0 {
			bodyText, easeText = unit.Tape(c.Body), signedLength(ease, unit)
			if c.Alteration != 0 {
				altered = signedLength(c.Alteration, unit)
			}
		}
		t.row(title, bodyText, altered, easeText, unit.Tape(c.Drafted), "± "+unit.Tape(sewnWithin(c.Drafted)))
	}
	t.note = fmt.Sprintf("Lengths in %s.", unitName[unit])
	if ofBlock {
		t.note += blockNote
	}
	s.table(&t)
}

const blockNote = " * Of the block: where the garment moves the line, the finished measure differs."

// finishedTitle returns what the sheet calls the measure of a check, and whether it is one
// of the block. worn has the titles of those by which the garment is put on.
func finishedTitle(check string, worn map[string]string) (title string, ofBlock bool) {
	if bare, block := strings.CutPrefix(check, "block: "); block {
		return measureTitle(bare) + " *", true
	}
	if title, ok := worn[check]; ok {
		return title, false
	}
	return measureTitle(check), false
}

// unitName is a unit in the plural.
var unitName = map[body.Unit]string{body.Centimetre: "centimetres", body.Inch: "inches", body.Millimetre: "millimetres"}

// sewnWithin returns how far a sewn garment's measure may differ from the
// pattern's, mm (common practice: 3 to 10 mm by its length).
func sewnWithin(mm float64) float64 {
	switch {
	case mm < 300:
		return 3
	case mm < 700:
		return 5
	}
	return 10
}

// measureTitle returns what the sheet calls a measure.
func measureTitle(name string) string {
	if info, ok := body.Lookup(body.Name(name)); ok {
		return info.Title
	}
	return words(name)
}

// measurements lists the measurements that the draft used.
func (s *setter) measurements(p finish.Pattern, unit body.Unit) {
	if len(p.Measurements) == 0 {
		return
	}
	t := table{title: "Measurements used", columns: []column{{name: "Measurement", flexible: true},
		{name: "Used", number: true}, {name: "How it is known", flexible: true}}}
	for _, m := range p.Measurements {
		show := unit.Tape
		if m.Degrees {
			show = func(v float64) string { return fmt.Sprintf("%.1f°", v) }
		}
		how := "measured"
		if m.Estimated {
			how = "estimated"
			if m.Spread > 0 {
				how = "estimated, give or take " + show(m.Spread)
			}
		}
		t.row(m.Title, show(m.Value), how)
	}
	s.table(&t)
}

// signedLength formats a length with its sign.
func signedLength(mm float64, unit body.Unit) string {
	text := unit.Tape(math.Abs(mm))
	switch {
	case strings.Trim(text, "0.") == "":
		return text
	case mm < 0:
		return "−" + text
	}
	return "+" + text
}
