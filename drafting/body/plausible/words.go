package plausible

import (
	"fmt"
	"strings"

	"tapeline/drafting/body"
)

// ask words a finding as a question that a customer understands: about a
// number, never about a body.
func (s *search) ask(f Finding, given body.Measures) string {
	if f.Name == "" {
		if f.Explanation == AllOtherUnit {
			return fmt.Sprintf("Were all measurements taken in %s, and not in %s?", other(s.unit), plural(s.unit))
		}
		return "These numbers are seldom seen together. Were they all taken on the same person, and written down as the tape said?"
	}
	title, unit := s.title(f.Name)
	says := fmt.Sprintf("%s is given as %s", strings.ToUpper(title[:1])+title[1:], unit.Format(f.Given))
	to := ""
	if mm, ok := f.Corrected[f.Name]; ok {
		to = unit.Format(mm)
	}
	switch f.Explanation {
	case OtherUnit:
		return fmt.Sprintf("%s. Was the number read in %s? Then it is %s.", says, other(s.unit), to)
	case Exchanged:
		with := body.Name(strings.TrimPrefix(f.Related[0], body.Field("")))
		name, unit := s.title(with)
		return fmt.Sprintf("%s and %s as %s. Were the two written in each other's place?", says, name, unit.Format(given[with]))
	case DigitsSwapped:
		return fmt.Sprintf("%s. Is it %s, with two digits in the other order?", says, to)
	case LeadingDigit:
		return fmt.Sprintf("%s. Is it %s, with another first digit?", says, to)
	case TenOff:
		return fmt.Sprintf("%s. Is it %s, ten away?", says, to)
	case Doubled:
		return fmt.Sprintf("%s. Was it doubled? Then it is %s.", says, to)
	case Halved:
		return fmt.Sprintf("%s. Was only half of it measured? Then it is %s.", says, to)
	case DecimalPoint:
		return fmt.Sprintf("%s. Is it %s, with the decimal point elsewhere?", says, to)
	}
	return fmt.Sprintf("%s; with the other numbers it is mostly from %s to %s. Would you measure it again?", says, tenths(unit, f.Low), tenths(unit, f.High))
}

// title is what a measurement is called, and the unit it is written in.
func (s *search) title(n body.Name) (string, body.Unit) {
	info, _ := body.Lookup(n)
	if info.Unit == body.Degree {
		return info.Title, body.Degree
	}
	return info.Title, s.unit
}

func other(u body.Unit) string {
	if u == body.Inch {
		return plural(body.Centimetre)
	}
	return plural(body.Inch)
}

func plural(u body.Unit) string {
	if u == body.Inch {
		return "inches"
	}
	return "centimetres"
}

// tenths writes a bound as a tape is read.
func tenths(u body.Unit, mm float64) string { return u.Format(u.MM(rounded(u.From(mm)))) }
