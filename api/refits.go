package api

import (
	"cmp"
	"context"

	"tapeline/service/orders"
	"tapeline/service/refits"
)

// CreateRefit begins a preview.
func (s *Server) CreateRefit(ctx context.Context, r CreateRefitRequestObject) (CreateRefitResponseObject, error) {
	b := r.Body
	created, err := s.service.Refits.Create(ctx, callerOf(ctx), refits.Input{
		Change: refitChangeOf(b.Change), Paper: cmp.Or(b.Paper, "a4"), Reason: b.Reason,
		Scope: refits.Scope{
			Statuses: each(b.Scope.Statuses, func(s RefitScopeStatuses) orders.Status { return orders.Status(s) }),
			Block:    b.Scope.Block, Style: b.Scope.Style, CustomerID: b.Scope.CustomerID,
			CreatedFrom: b.Scope.CreatedFrom, CreatedBefore: b.Scope.CreatedBefore, Orders: b.Scope.Orders,
		},
	})
	if err != nil {
		return nil, err
	}
	return CreateRefit201JSONResponse{Body: refit(created),
		Headers: CreateRefit201ResponseHeaders{Location: "/v1/refits/" + created.ID.String()}}, nil
}

// refitChangeOf reads a change of the contract, which holds one of them.
func refitChangeOf(b RefitChange) refits.Change {
	switch {
	case b.Style.Style != "":
		return refits.Change{Style: &refits.StyleChange{Style: b.Style.Style, From: b.Style.From, To: b.Style.To}}
	case b.Fit.To != "":
		f := b.Fit
		return refits.Change{Fit: &refits.FitChange{Block: f.Block, Style: f.Style, From: f.From, To: f.To,
			Unit: string(f.Unit), Ease: f.Ease}}
	case b.Measurements.CustomerID != ID{}:
		m := b.Measurements
		return refits.Change{Measurements: &refits.MeasurementsChange{CustomerID: m.CustomerID, From: m.From, To: m.To}}
	case b.Alterations.CustomerID != ID{}:
		a := b.Alterations
		return refits.Change{Alterations: &refits.AlterationsChange{CustomerID: a.CustomerID, From: a.From, To: a.To}}
	default:
		return refits.Change{Engine: &refits.EngineChange{}}
	}
}

// ListRefits lists refits.
func (s *Server) ListRefits(ctx context.Context, r ListRefitsRequestObject) (ListRefitsResponseObject, error) {
	page, err := pageOf(r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	list, next, err := s.service.Refits.List(ctx, callerOf(ctx), page)
	return ListRefits200JSONResponse{Items: each(list, refit), NextCursor: cursorOf(next)}, err
}

// GetRefit reads a refit.
func (s *Server) GetRefit(ctx context.Context, r GetRefitRequestObject) (GetRefitResponseObject, error) {
	v, err := s.service.Refits.Get(ctx, callerOf(ctx), r.RefitID)
	return GetRefit200JSONResponse(refitView(v)), err
}

// DecideRefit applies a refit to all, some or none of its orders.
func (s *Server) DecideRefit(ctx context.Context, r DecideRefitRequestObject) (DecideRefitResponseObject, error) {
	decided, err := s.service.Refits.Decide(ctx, callerOf(ctx), r.RefitID,
		refits.Decision{Apply: refits.Apply(r.Body.Apply), Orders: r.Body.Orders})
	return DecideRefit200JSONResponse(refit(decided)), err
}

// StopRefit stops a refit.
func (s *Server) StopRefit(ctx context.Context, r StopRefitRequestObject) (StopRefitResponseObject, error) {
	stopped, err := s.service.Refits.Stop(ctx, callerOf(ctx), r.RefitID)
	return StopRefit200JSONResponse(refit(stopped)), err
}

// ListRefitOrders lists the orders of a refit.
func (s *Server) ListRefitOrders(
	ctx context.Context, r ListRefitOrdersRequestObject,
) (ListRefitOrdersResponseObject, error) {
	p := r.Params
	page, err := pageOf(p.Limit, p.Cursor)
	if err != nil {
		return nil, err
	}
	list, next, err := s.service.Refits.ListOrders(ctx, callerOf(ctx), r.RefitID,
		refits.OrderFilter{Preview: string(p.Preview), Outcome: string(p.Outcome)}, page)
	return ListRefitOrders200JSONResponse{Items: each(list, refitOrder), NextCursor: cursorOf(next)}, err
}

// GetRefitOrder reads one order of a refit.
func (s *Server) GetRefitOrder(ctx context.Context, r GetRefitOrderRequestObject) (GetRefitOrderResponseObject, error) {
	o, err := s.service.Refits.Order(ctx, callerOf(ctx), r.RefitID, r.OrderID)
	return GetRefitOrder200JSONResponse(refitOrder(o)), err
}

// GetRefitOverlay draws what a refit moves in an order.
func (s *Server) GetRefitOverlay(
	ctx context.Context, r GetRefitOverlayRequestObject,
) (GetRefitOverlayResponseObject, error) {
	f, err := s.service.Refits.Overlay(ctx, callerOf(ctx), r.RefitID, r.OrderID, string(r.Params.Format))
	return preview{f}, err
}

// refit writes a refit without its figures.
func refit(r refits.Refit) Refit {
	w := Refit{
		ID: r.ID, Status: RefitStatus(r.Status), Paper: r.Paper, Reason: r.Reason, Orders: r.Orders,
		Scope: RefitScope{
			Statuses: each(r.Scope.Statuses, func(s orders.Status) RefitScopeStatuses { return RefitScopeStatuses(s) }),
			Block:    r.Scope.Block, Style: r.Scope.Style, CustomerID: r.Scope.CustomerID,
			CreatedFrom: r.Scope.CreatedFrom, CreatedBefore: r.Scope.CreatedBefore, Orders: r.Scope.Orders,
		},
		CreatedAt: r.CreatedAt, CreatedBy: deref(r.CreatedBy), PreviewedAt: deref(r.PreviewedAt),
		Decision: ApplyTo(r.Decision), DecidedAt: deref(r.DecidedAt), DecidedBy: deref(r.DecidedBy),
		EndedAt: deref(r.EndedAt), StoppedBy: deref(r.EndedBy),
	}
	if len(w.Scope.Statuses) == 0 {
		w.Scope.Statuses = nil
	}
	switch c := r.Change; {
	case c.Style != nil:
		w.Change.Style = StyleChange{Style: c.Style.Style, From: c.Style.From, To: c.Style.To}
	case c.Fit != nil:
		w.Change.Fit = FitChange{Block: c.Fit.Block, Style: c.Fit.Style, From: c.Fit.From, To: c.Fit.To,
			Unit: Unit(c.Fit.Unit), Ease: c.Fit.Ease}
	case c.Measurements != nil:
		w.Change.Measurements = MeasurementsChange{CustomerID: c.Measurements.CustomerID,
			From: c.Measurements.From, To: c.Measurements.To}
	case c.Alterations != nil:
		w.Change.Alterations = AlterationsChange{CustomerID: c.Alterations.CustomerID,
			From: c.Alterations.From, To: c.Alterations.To}
	case c.Engine != nil:
		w.Change.Engine = &map[string]any{}
	}
	return w
}

// refitView writes a refit with its figures.
func refitView(v refits.View) Refit {
	w := refit(v.Refit)
	w.ArrivedSince, w.Previews, w.Outcomes = v.Arrived, v.Previews, v.Outcomes
	if p := v.Progress; p != nil {
		w.Work = RefitWork{Done: p.Done, Total: p.Total, Rate: p.PerSecond, SecondsLeft: int(p.Left.Seconds())}
	}
	if m := v.Moves; m != nil {
		w.Moves = RefitMoves{Median: m.Median, P90: m.P90, Largest: m.Largest, Orders: each(m.Most, refitOrder),
			Histogram: each(m.Histogram, func(c refits.MoveCount) MoveCount {
				return MoveCount{Min: c.Min, Max: c.Max, Count: c.Count}
			})}
	}
	if v.Fittings != nil {
		w.Fittings = refitFittings(*v.Fittings)
	}
	return w
}

func refitOrder(o refits.Order) RefitOrder {
	w := RefitOrder{
		OrderID: o.OrderID, Reference: o.Reference, Preview: RefitPreview(o.Preview), PreviousRevision: deref(o.Basis),
		PreviewedAt: deref(o.PreviewedAt), Outcome: RefitOutcome(deref(o.Outcome)), Revision: deref(o.Revision),
		SettledAt: deref(o.SettledAt), ErasedAt: deref(o.ErasedAt),
	}
	if o.Reason != "" {
		reason := Reason{Code: string(o.Reason), Detail: o.ReasonDetail()}
		w.Reasons = append([]Reason{reason}, faultReasons(o.Faults)...)
	}
	if c := o.Comparison; c != nil {
		w.Comparison = comparison(*c)
	}
	if o.Fitting != nil {
		w.Fitting = refitFitting(*o.Fitting)
	}
	return w
}

func comparison(c refits.Comparison) Comparison {
	change := func(c refits.LengthChange) LengthChange { return LengthChange{Name: c.Name, From: c.Was, To: c.Now} }
	w := Comparison{Largest: c.Largest, Added: each(c.Added, same), Removed: each(c.Gone, same),
		Seams: each(c.Seams, change), Girths: each(c.Girths, change),
		Pieces: each(c.Pieces, func(p refits.PieceMove) PieceMove {
			return PieceMove{Name: p.Name, Largest: p.Largest, Mean: p.Mean, From: p.Was[:], To: p.Now[:], Shift: p.Shift[:]}
		})}
	if c.Pages != nil {
		w.Pages = PagesChange{Paper: c.Pages.Paper, From: c.Pages.Was, To: c.Pages.Now}
	}
	if c.Engine != nil {
		w.Engine = EngineStep{From: c.Engine.Was, To: c.Engine.Now}
	}
	return w
}

func same(s string) string { return s }
