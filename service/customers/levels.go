package customers

import (
	"cmp"
	"context"
	"fmt"
	"math"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/body/plausible"
	"tapeline/drafting/fault"
	"tapeline/service"
	"tapeline/service/access"
)

// Levels has the minimum chance, from 0 to 1, that a number is wrong for a
// finding of each level. 0 stands for the default; by default nothing is
// refused.
type Levels struct {
	Note    float64
	Confirm float64
	Refuse  float64
}

// Limits of levels. The shop is always asked about a number that is almost
// certainly wrong, and only such a number may be refused, since one real body
// in some thousands is as unlikely.
const (
	MinChance = 0.01
	MaxChance = 0.99 // to note and to confirm
	MinRefuse = 0.9
	MaxRefuse = 0.9999
)

// chance converts odds to one to a probability.
func chance(odds float64) float64 {
	if math.IsInf(odds, 1) {
		return 1
	}
	return odds / (1 + odds)
}

func odds(chance float64) float64 { return chance / (1 - chance) }

// DefaultLevels returns the levels of a shop that has set none.
func DefaultLevels() Levels { return Levels{}.withDefaults() }

// withDefaults fills in the default of each level that has one.
func (l Levels) withDefaults() Levels {
	l.Note = cmp.Or(l.Note, chance(plausible.DefaultLevels.Note))
	l.Confirm = cmp.Or(l.Confirm, chance(plausible.DefaultLevels.Confirm))
	return l
}

// assessor returns the assessor with the levels.
func (l Levels) assessor() *plausible.Assessor {
	l = l.withDefaults()
	levels := plausible.Levels{Note: odds(min(l.Note, l.Confirm)), Confirm: odds(l.Confirm), Refuse: math.Inf(1)}
	if l.Refuse > 0 {
		levels.Refuse = odds(max(l.Refuse, l.Confirm))
	}
	a, err := plausible.Default().With(levels)
	if err != nil {
		panic(err) // chances are between 0 and 1 by a constraint of the database
	}
	return a
}

// validate returns what is wrong with the levels.
func (l Levels) validate() service.Faults {
	var faults service.Faults
	inRange := func(field string, v, low, high float64) {
		if v != 0 && !(v >= low && v <= high) {
			faults = append(faults, service.Fault{
				Code: fault.Range, Field: field, Value: fmt.Sprint(v),
				Accepted: fmt.Sprintf("a chance from %g to %g", low, high),
			})
		}
	}
	inRange("/note", l.Note, MinChance, MaxChance)
	inRange("/confirm", l.Confirm, MinChance, MaxChance)
	inRange("/refuse", l.Refuse, MinRefuse, MaxRefuse)
	if len(faults) > 0 {
		return faults
	}
	all := l.withDefaults()
	contradiction := func(field string, v float64, accepted string) {
		faults = append(faults, service.Fault{
			Code: fault.Contradiction, Field: field, Value: fmt.Sprint(v),
			Accepted: fmt.Sprintf("%s the level to confirm, %.3g", accepted, all.Confirm), Related: []string{"/confirm"},
		})
	}
	if all.Note > all.Confirm {
		contradiction("/note", all.Note, "at most")
	}
	if l.Refuse > 0 && l.Refuse < all.Confirm {
		contradiction("/refuse", l.Refuse, "at least")
	}
	return faults
}

// ShopLevels returns a shop's levels, without defaults.
func ShopLevels(ctx context.Context, q db.Queries, shop uuid.UUID) (Levels, error) {
	row, err := q.AssessmentLevels(ctx, shop)
	l := Levels{
		Note: service.OrZero(row.CheckNote), Confirm: service.OrZero(row.CheckConfirm),
		Refuse: service.OrZero(row.CheckRefuse),
	}
	return l, err
}

// Levels returns the levels of the caller's shop.
func (s *Service) Levels(ctx context.Context, caller service.Caller) (Levels, error) {
	l, err := ShopLevels(ctx, s.store.Queries, caller.Shop)
	return l.withDefaults(), err
}

// SetLevels replaces the levels of the caller's shop, for assessments from now
// on. It fails with CodeInvalidInput.
func (s *Service) SetLevels(ctx context.Context, caller service.Caller, l Levels) (Levels, error) {
	if faults := l.validate(); len(faults) > 0 {
		return Levels{}, service.Invalid(faults)
	}
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.SetAssessmentLevels(ctx, query.SetAssessmentLevelsParams{
			ID: caller.Shop, CheckNote: service.Optional(l.Note), CheckConfirm: service.Optional(l.Confirm),
			CheckRefuse: service.Optional(l.Refuse),
		})
		if err != nil {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{
			Name: "shop.check_levels_set", Subject: caller.Shop, At: s.clock.Now(),
			Detail: map[string]any{"note": l.Note, "confirm": l.Confirm, "refuse": l.Refuse},
		})
	})
	return l.withDefaults(), err
}
