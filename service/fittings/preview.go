package fittings

import (
	"context"
	"errors"

	"tapeline/drafting"
	"tapeline/drafting/drape"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/service"
	"tapeline/service/orders"
	"tapeline/service/patterns"
	"tapeline/service/work"
)

// A Preview asks to try an order on that is not stored.
type Preview struct {
	Order  orders.Preview
	Detail Detail // "" is Full
	Cloth  string // name of a preset; "" for the one that suits the style
	Format string // of the picture: svg, png or pdf; "" for none
}

// Preview tries an order on that is not stored, on a spare core, until ctx ends. It fails
// with CodeInvalidInput for what cannot be drafted or tried on, with CodeTooCostly if
// the work takes too long, and with CodeTooManyAtOnce.
func (s *Service) Preview(ctx context.Context, caller service.Caller, p Preview) (Report, patterns.File, error) {
	if err := CheckCloth(p.Cloth); err != nil {
		return Report{}, patterns.File{}, err
	}
	order, err := s.Orders.Previewed(ctx, caller, p.Order)
	if err != nil {
		return Report{}, patterns.File{}, err
	}
	leave, err := s.previews.Enter(caller.Shop)
	if err != nil {
		return Report{}, patterns.File{}, err
	}
	defer leave()
	report := Report{Cures: []Cure{}}
	file := patterns.File{MediaType: mediaTypes[p.Format]}
	options := drafting.FittingOptions{Cloth: p.Cloth, Quick: p.Detail == Quick}
	// Nothing of it may slow an order, so it waits for a core as work in bulk does.
	err = s.Cores.DoFor(ctx, work.Bulk, caller.Shop, mostTime, func(ctx context.Context) error {
		f, err := drafting.TryOn(ctx, order, options)
		if err != nil {
			return err
		}
		report.Report = f.Report(fitting.OfMeasurements)
		if p.Format == "" {
			return nil
		}
		picture, err := f.Picture(ctx, f.Title(order.Label.Reference), f.Options)
		if err == nil {
			file.Content, err = draw(ctx, picture, p.Format)
		}
		return err
	})
	return report, file, refused(err)
}

// refused returns the refusal of what was not tried on while a caller waited; other
// errors as they are.
func refused(err error) error {
	if faults, ok := errors.AsType[fault.List](err); ok {
		return service.Invalid(faults)
	}
	if e := service.TooCostly(err); e != nil {
		return e
	}
	switch {
	case errors.Is(err, drape.ErrLost):
		return service.Invalid(fault.List{{Code: fault.Undraftable, Field: "/measurements", Accepted: reasonOf(err)}})
	case errors.Is(err, context.DeadlineExceeded):
		return service.Refuse(service.CodeTooCostly, "it was not tried on within the time of a request: ask for quick, "+
			"try again when less is to be done, or place the order and ask for its fitting")
	}
	return err
}
