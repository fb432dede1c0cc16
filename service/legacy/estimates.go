package legacy

import (
	"context"
	"errors"

	"github.com/google/uuid"

	"tapeline/drafting"
	"tapeline/drafting/fault"
)

// OrderEstimates tells what an order's draft took for granted, and how far its
// pattern would move if that were wrong; revision 0 is the current one. The
// draft is made anew for it, so that it fails with CodeWrongState where this
// version of the program makes it no more; else as PatternFile does.
func (s *Service) OrderEstimates(ctx context.Context, caller Caller, id uuid.UUID, revision int) ([]drafting.Estimate, error) {
	head, err := s.Patterns.Head(ctx, caller, id, revision)
	if err != nil {
		return nil, err
	}
	d, err := draftRevision(head)
	if err != nil {
		return nil, err
	}
	set, err := s.Customers.Set(ctx, caller, d.MeasurementSetID)
	if err != nil {
		return nil, err
	}
	var kept drafting.Alterations
	if d.AlterationsID != nil {
		a, err := s.Customers.AlterationSet(ctx, caller, *d.AlterationsID)
		if err != nil {
			return nil, err
		}
		if kept, err = a.Draftable(); err != nil {
			return nil, err
		}
	}
	garment, err := s.compileStyle(ctx, s.store.Queries, d.Spec)
	if err != nil {
		return nil, noMore(err)
	}
	o, err := resolve(d.Spec, garment, set.Measurements, labelled{reference: "estimates", revision: 1})
	if err != nil {
		return nil, noMore(err)
	}
	var list []drafting.Estimate
	err = s.onCore(ctx, func() (err error) {
		list, err = drafting.Estimates(ctx, o.Altered(kept))
		return err
	})
	return list, noMore(err)
}

// noMore refuses what a former version of the program drafted and this one
// doesn't.
func noMore(err error) error {
	_, faulty := errors.AsType[fault.List](err)
	_, held := errors.AsType[*undrafted](err)
	if faulty || held {
		return refuse(CodeWrongState, "the program has changed since and does not make this draft any more")
	}
	return err
}
