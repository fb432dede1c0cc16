package orders

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/compare"
	"tapeline/drafting/finish"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/work"
)

// Alterable lists the alterations that an order's garment takes, in mm.
func (s *Service) Alterable(ctx context.Context, o Order) ([]block.Alteration, error) {
	garment, err := s.Garment(ctx, o.Spec)
	if err != nil {
		return nil, err
	}
	spec, faults := drafting.Order{Block: o.Spec.Block, Style: o.Spec.Style, Garment: garment}.Spec()
	if len(faults) > 0 {
		return nil, service.Invalid(faults)
	}
	return spec.Alterations, nil
}

// Altered lists what alterations would change in an order's pattern. Lengths are in mm.
type Altered struct {
	Largest  float64 // the largest move of a seam line
	Pieces   []Moved // that move, the largest move first
	Measures []compare.Change
	Picture  []byte // SVG of what moves
	Warnings []string
}

// Moved is the largest move of a piece's seam line, mm.
type Moved struct {
	Piece   string
	Largest float64
}

// TryAlterations drafts what an order's current pattern would be with other
// alterations, and stores nothing. It fails with CodeInvalidInput if the garment
// cannot be drafted with them, and otherwise as patterns.Head does.
func (s *Service) TryAlterations(
	ctx context.Context, caller service.Caller, id uuid.UUID, a customers.Alterations,
) (Altered, error) {
	head, err := s.Patterns.Head(ctx, caller, id, 0)
	if err != nil {
		return Altered{}, err
	}
	if _, err := a.Draftable(); err != nil {
		return Altered{}, err
	}
	basis, err := s.BasisOf(ctx, caller, head)
	if err != nil {
		return Altered{}, err
	}
	was, err := s.Patterns.Pattern(ctx, head)
	if err != nil {
		return Altered{}, err
	}
	basis.AlteredUnit, basis.Alterations = body.Unit(a.Unit), a.Values
	now, err := s.draftFrom(ctx, caller, id, basis, head.Number+1)
	if err != nil {
		return Altered{}, err
	}
	picture, err := s.Patterns.DrawChange(ctx, caller.Shop, was, now, "svg")
	if err != nil {
		return Altered{}, err
	}
	altered := Altered{Picture: picture.Content, Warnings: now.Warnings}
	err = s.Cores.Do(ctx, work.Request, caller.Shop, func(ctx context.Context) error {
		d, err := compare.Patterns(ctx, was, now)
		altered.Largest, altered.Measures = d.Largest(), d.Measures
		for _, p := range d.Pieces {
			if p.Move.Largest > 0.05 {
				altered.Pieces = append(altered.Pieces, Moved{p.Name, p.Move.Largest})
			}
		}
		return err
	})
	return altered, err
}

// draftFrom drafts an order from a basis.
func (s *Service) draftFrom(
	ctx context.Context, caller service.Caller, id uuid.UUID, b Basis, revision int,
) (drafted finish.Pattern, err error) {
	order, err := s.Compose(ctx, db.DraftInput{DraftInput: query.DraftInput{ID: id}}, b, revision)
	if err == nil {
		err = s.Cores.Do(ctx, work.Request, caller.Shop, func(ctx context.Context) (err error) {
			start := time.Now()
			drafted, err = Draft(ctx, order)
			s.Drafted(time.Since(start), err)
			return err
		})
	}
	if u, ok := errors.AsType[*UndraftedError](err); ok {
		return drafted, service.Invalid(u.Faults)
	}
	if err != nil {
		return drafted, fmt.Errorf("draft order %s: %w", id, err)
	}
	return drafted, nil
}
