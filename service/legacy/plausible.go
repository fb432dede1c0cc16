package legacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/fault"
)

// CheckLevels are the chances, between 0 and 1, that a number is wrong, from
// which on a shop has it noted, asked about and refused. 0 stands for the
// program's own, and for Refuse for never.
type CheckLevels struct {
	Note    float64
	Confirm float64
	Refuse  float64
}

// Limits of levels. What is almost surely wrong is always asked about, and
// only that may be refused: one real body in some thousand is as unlikely.
const (
	LeastChance = 0.01
	MostChance  = 0.99 // to note and to confirm
	LeastRefuse = 0.9
	MostRefuse  = 0.9999
)

// chance is what odds of so many to one are.
func chance(odds float64) float64 {
	if math.IsInf(odds, 1) {
		return 1
	}
	return odds / (1 + odds)
}

func oddsOf(chance float64) float64 { return chance / (1 - chance) }

// DefaultCheckLevels are the program's own.
func DefaultCheckLevels() CheckLevels {
	return CheckLevels{Note: chance(plausible.DefaultLevels.Note), Confirm: chance(plausible.DefaultLevels.Confirm)}
}

// odds are the levels as the check has them, its own where l says none.
func (l CheckLevels) odds() plausible.Levels {
	levels := plausible.DefaultLevels
	if l.Note > 0 {
		levels.Note = oddsOf(l.Note)
	}
	if l.Confirm > 0 {
		levels.Confirm = oddsOf(l.Confirm)
	}
	if l.Refuse > 0 {
		levels.Refuse = oddsOf(l.Refuse)
	}
	return levels
}

// filled is l with the program's own where it says none.
func (l CheckLevels) filled() CheckLevels {
	own := DefaultCheckLevels()
	if l.Note == 0 {
		l.Note = own.Note
	}
	if l.Confirm == 0 {
		l.Confirm = own.Confirm
	}
	return l
}

func (l CheckLevels) check() fault.List {
	var faults fault.List
	within := func(field string, v, least, most float64) {
		if v != 0 && !(v >= least && v <= most) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: fmt.Sprint(v),
				Accepted: fmt.Sprintf("a chance from %g to %g", least, most)})
		}
	}
	within("/note", l.Note, LeastChance, MostChance)
	within("/confirm", l.Confirm, LeastChance, MostChance)
	within("/refuse", l.Refuse, LeastRefuse, MostRefuse)
	if len(faults) > 0 {
		return faults
	}
	switch all := l.filled(); {
	case all.Note > all.Confirm:
		faults = append(faults, fault.Fault{Code: fault.Contradiction, Field: "/note", Value: fmt.Sprint(all.Note),
			Accepted: fmt.Sprintf("no more than to confirm, which is %.3g", all.Confirm), Related: []string{"/confirm"}})
	case l.Refuse > 0 && all.Confirm > l.Refuse:
		faults = append(faults, fault.Fault{Code: fault.Contradiction, Field: "/refuse", Value: fmt.Sprint(l.Refuse),
			Accepted: fmt.Sprintf("no less than to confirm, which is %.3g", all.Confirm), Related: []string{"/confirm"}})
	}
	return faults
}

// CheckLevels are those by which a shop's measurements are checked.
func (s *Service) CheckLevels(ctx context.Context, caller Caller) (CheckLevels, error) {
	l, err := levelsOf(ctx, s.store.Queries, caller.Shop)
	return l.filled(), err
}

// SetCheckLevels has a shop's measurements checked by other levels from now
// on. Those that don't go together fail with CodeInvalidInput.
func (s *Service) SetCheckLevels(ctx context.Context, caller Caller, l CheckLevels) (CheckLevels, error) {
	if faults := l.check(); len(faults) > 0 {
		return CheckLevels{}, invalid(faults)
	}
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.SetCheckLevels(ctx, caller.Shop, db.CheckLevels{Note: optional(l.Note), Confirm: optional(l.Confirm), Refuse: optional(l.Refuse)}); err != nil {
			return err
		}
		return audit(ctx, tx, caller, s.now(), "shop.check_levels_set", caller.Shop, map[string]any{"note": l.Note, "confirm": l.Confirm, "refuse": l.Refuse})
	})
	return l.filled(), err
}

func levelsOf(ctx context.Context, q db.Queries, shop uuid.UUID) (CheckLevels, error) {
	row, err := q.CheckLevels(ctx, shop)
	return CheckLevels{Note: orZero(row.Note), Confirm: orZero(row.Confirm), Refuse: orZero(row.Refuse)}, err
}

// checkerOf is the check with a shop's levels.
func checkerOf(ctx context.Context, q db.Queries, shop uuid.UUID) (*plausible.Assessor, error) {
	l, err := levelsOf(ctx, q, shop)
	if err != nil {
		return nil, err
	}
	return plausible.Default().With(l.odds())
}

// askAbout finds numbers that do not go with the others, each as a question
// that the shop may put to its customer.
func askAbout(c *plausible.Assessor, unit body.Unit, given body.Measures) []Finding {
	var findings []Finding
	for _, f := range c.Assess(unit, given).Findings {
		finding := Finding{Level: string(f.Level), Chance: chance(f.Odds),
			Fault: fault.Fault{Code: fault.Implausible, Field: f.Field, Accepted: f.Question, Related: f.Related, Explanation: string(f.Explanation)}}
		if f.Name != "" {
			in := unitOf(f.Name, unit)
			finding.Value = in.Format(f.Given)
			finding.Expected = &Expected{Value: in.From(f.Expected), Low: in.From(f.Low), High: in.From(f.High), Unit: string(in)}
		}
		for name, mm := range f.Corrected {
			if finding.Corrected == nil {
				finding.Corrected = map[string]float64{}
			}
			finding.Corrected[string(name)] = unitOf(name, unit).From(mm)
		}
		findings = append(findings, finding)
	}
	return findings
}

// unitOf is the unit of a measurement in a set whose lengths are in unit.
func unitOf(n body.Name, unit body.Unit) body.Unit {
	if info, ok := body.Lookup(n); ok && info.Unit == body.Degree {
		return body.Degree
	}
	return unit
}

// doubts are the findings of some levels that numbers do not go together.
func (r Report) doubts(levels ...string) fault.List {
	var faults fault.List
	for _, level := range levels {
		for _, f := range r.at(level) {
			if f.Code == fault.Implausible {
				faults = append(faults, f)
			}
		}
	}
	return faults
}

// alsoRefused adds to what is wrong with an order, if anything is, the numbers
// in it that are refused for not going with the others; they may explain the
// rest. A stored set that somebody confirmed is not refused.
func alsoRefused(ctx context.Context, q db.Queries, shop, set uuid.UUID, wrong error, r Report) error {
	refused := r.doubts(LevelRefuse)
	if e, ok := errors.AsType[*Error](wrong); ok && len(e.Faults) > 0 {
		return invalid(append(e.Faults, refused...))
	}
	if wrong != nil || len(refused) == 0 {
		return wrong
	}
	if set != uuid.Nil {
		if confirmed, err := q.SetConfirmed(ctx, shop, set); err != nil || confirmed {
			return err
		}
	}
	return invalid(refused)
}

// Confirmed is a number that somebody said is right, and the mistake that it
// had been taken for.
type Confirmed struct {
	Field       string `json:"field"`
	Explanation string `json:"explanation"`
}

// confirmedOf are the numbers in doubt among an order's faults; nil for none.
func confirmedOf(faults json.RawMessage) (json.RawMessage, error) {
	if faults == nil {
		return nil, nil
	}
	var all fault.List
	if err := json.Unmarshal(faults, &all); err != nil {
		return nil, fmt.Errorf("stored faults: %w", err)
	}
	var doubted []Confirmed
	for _, f := range all {
		if f.Code == fault.Implausible {
			doubted = append(doubted, Confirmed{f.Field, f.Explanation})
		}
	}
	if doubted == nil {
		return nil, nil
	}
	return encode(doubted), nil
}
