package plausible

import (
	"fmt"
	"strings"

	"tapeline/drafting/body"
)

// ask words a finding as a question that a customer understands: about a
// number, never about a body.
func (s *search) ask(f Finding, given body.Measures) string {
	switch f.Explanation {
	case AllOtherUnit:
		return fmt.Sprintf("Were all measurements taken in %s, and not in %s?", plural(opposite(s.unit)), plural(s.unit))
	case Unusual:
		return "Several of these numbers go together less well than usual. Would you compare them with the tape once more?"
	}
	info, _ := body.Lookup(f.Name)
	says := upper(info.Title) + " is given as " + s.format(info, f.Given)
	to := s.format(info, f.Corrected[f.Name])
	switch f.Explanation {
	case OtherUnit:
		return fmt.Sprintf("%s. Was the number read in %s? Then it is %s.", says, plural(opposite(s.unit)), to)
	case Exchanged:
		other, _ := body.Lookup(f.Other)
		return fmt.Sprintf("%s and %s as %s. Were the two written in each other's place?", says, other.Title, s.format(other, given[f.Other]))
	case DigitsSwapped:
		return fmt.Sprintf("%s. Is it %s, with two digits in the other order?", says, to)
	case LeadingDigit:
		return fmt.Sprintf("%s. Is it %s, with another first digit?", says, to)
	case TenOff:
		way := "more"
		if f.Corrected[f.Name] < f.Given {
			way = "less"
		}
		return fmt.Sprintf("%s. Is it %s, ten %s?", says, to, way)
	case Doubled:
		return fmt.Sprintf("%s. Was it doubled? Then it is %s.", says, to)
	case Halved:
		return fmt.Sprintf("%s. Was only half of it measured? Then it is %s.", says, to)
	case DecimalPoint:
		return fmt.Sprintf("%s. Is it %s, with the decimal point elsewhere?", says, to)
	}
	return fmt.Sprintf("%s; with the other numbers it is mostly from %s to %s. Would you measure it again, %s?",
		says, s.tenths(info, f.Low), s.tenths(info, f.High), info.How)
}

func upper(title string) string { return strings.ToUpper(title[:1]) + title[1:] }

// unitOf is the unit in which a measurement is written.
func (s *search) unitOf(info body.Info) body.Unit {
	if info.Unit == body.Degree {
		return body.Degree
	}
	return s.unit
}

func (s *search) format(info body.Info, mm float64) string { return s.unitOf(info).Format(mm) }

// tenths writes a bound as a tape is read.
func (s *search) tenths(info body.Info, mm float64) string {
	u := s.unitOf(info)
	return u.Format(u.MM(rounded(u.From(mm))))
}

func plural(u body.Unit) string {
	if u == body.Inch {
		return "inches"
	}
	return "centimetres"
}
