package legacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"tapeline/service/customers"
	"tapeline/service/patterns"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/document"
	"tapeline/drafting/finish"
)

// DraftRevision is a draft as it was proved, without its geometry.
type DraftRevision struct {
	db.DraftHead
	Spec   Spec
	Checks []document.Check // nil once erased
}

// DraftRevisions lists an order's drafts, newest first.
func (s *Service) DraftRevisions(ctx context.Context, caller Caller, id uuid.UUID) ([]DraftRevision, error) {
	if _, err := s.Order(ctx, caller, id); err != nil {
		return nil, err
	}
	heads, err := s.store.DraftHeads(ctx, caller.Shop, id)
	if err != nil {
		return nil, err
	}
	revisions := make([]DraftRevision, len(heads))
	for i, head := range heads {
		if revisions[i], err = draftRevision(head); err != nil {
			return nil, err
		}
	}
	return revisions, nil
}

func draftRevision(head db.DraftHead) (DraftRevision, error) {
	d := DraftRevision{DraftHead: head}
	err := json.Unmarshal(head.Spec, &d.Spec)
	if err == nil && head.Checks != nil {
		err = json.Unmarshal(head.Checks, &d.Checks)
	}
	if err != nil {
		return DraftRevision{}, fmt.Errorf("stored draft %d of order %s: %w", head.Number, head.OrderID, err)
	}
	return d, nil
}

// Preview is what to draft without storing. Of MeasurementSetID and
// Measurements one is given.
type Preview struct {
	MeasurementSetID uuid.UUID
	Measurements     map[string]float64 // in Spec.Unit
	Spec             Spec
	Altered          map[string]any // in Spec.Unit; nil: those kept for the set's customer
}

// PreviewDraft drafts and proves without storing, and gives the geometry or
// another file of it; an SVG is for screens unless it is said otherwise. What
// cannot be drafted fails with CodeInvalidInput.
func (s *Service) PreviewDraft(ctx context.Context, caller Caller, p Preview, name string, o patterns.Options) (patterns.File, error) {
	if name == "svg" && o.For == "" {
		o.For = patterns.Screens
	}
	format, o, err := patterns.ParseOptions(name, o)
	if err != nil {
		return patterns.File{}, err
	}
	measured := Measured{Unit: p.Spec.Unit, Values: p.Measurements}
	alter, err := customers.Alterations{Unit: p.Spec.Unit, Values: p.Altered}.Draftable()
	if err != nil {
		return patterns.File{}, err
	}
	if p.MeasurementSetID != uuid.Nil {
		set, err := customers.SetOf(ctx, s.store.Queries, caller, uuid.Nil, p.MeasurementSetID)
		if err != nil {
			return patterns.File{}, err
		}
		measured = set.Measurements
		if p.Altered == nil {
			latest, err := customers.LatestAlterations(ctx, s.store.Queries, caller.Shop, set.CustomerID)
			if err == nil {
				alter, err = latest.Draftable()
			}
			if err != nil {
				return patterns.File{}, err
			}
		}
	}
	spec, garment, err := s.resolveStyle(ctx, s.store.Queries, caller, p.Spec)
	if err != nil {
		return patterns.File{}, err
	}
	f := patterns.File{MediaType: format.MediaType}
	f.Content, err = s.Patterns.Render(ctx, caller.Shop, format, o, func(ctx context.Context) (finish.Pattern, error) {
		start := time.Now()
		drafted, err := commission{spec, garment, measured, alter, labelled{reference: "preview", revision: 1}}.draft(ctx)
		s.measure.drafted(time.Since(start), err)
		return drafted, err
	})
	if u, ok := errors.AsType[*undrafted](err); ok {
		return patterns.File{}, invalid(u.faults)
	}
	return f, err
}
