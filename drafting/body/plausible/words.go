package plausible

import (
	"fmt"
	"strings"

	"tapeline/drafting/body"
)

// ask returns the question of a finding. It asks the customer about a number,
// never about a body.
func (s *search) ask(f Finding, given body.Measures) string {
	switch f.Explanation {
	case AllOtherUnit:
		return fmt.Sprintf("Were all measurements taken in %s, and not in %s?", plural(opposite(s.unit)), plural(s.unit))
	case Unusual:
		return "Several of these numbers fit each other less well than usual. " +
			"Would you compare them with the tape once more?"
	}
	info, _ := body.Lookup(f.Name)
	says := capitalize(info.Title) + " is given as " + s.format(f.Name, f.Given)
	to := s.format(f.Name, f.Corrected[f.Name])
	switch f.Explanation {
	case OtherUnit:
		return fmt.Sprintf("%s. Was the number read in %s? Then it is %s.", says, plural(opposite(s.unit)), to)
	case Exchanged:
		other, _ := body.Lookup(f.Other)
		return fmt.Sprintf("%s and %s as %s. Were the two exchanged?",
			says, other.Title, s.format(f.Other, given[f.Other]))
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
	return fmt.Sprintf("%s; with the other numbers it is usually from %s to %s. Would you measure it again, %s?",
		says, s.formatTenths(f.Name, f.Low), s.formatTenths(f.Name, f.High), info.How)
}

func capitalize(title string) string { return strings.ToUpper(title[:1]) + title[1:] }

func (s *search) format(n body.Name, mm float64) string { return s.unit.Of(n).Format(mm) }

// formatTenths formats a limit to the precision of a tape.
func (s *search) formatTenths(n body.Name, mm float64) string {
	u := s.unit.Of(n)
	return u.Format(u.MM(roundTenths(u.From(mm))))
}

func plural(u body.Unit) string {
	if u == body.Inch {
		return "inches"
	}
	return "centimetres"
}
