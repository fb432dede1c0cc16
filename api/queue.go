package api

import (
	"context"
	"time"

	"tapeline/service/access"
	"tapeline/service/orders"
)

// ListOrders lists orders.
func (s *Server) ListOrders(ctx context.Context, r ListOrdersRequestObject) (ListOrdersResponseObject, error) {
	p := r.Params
	page, err := pageOf(p.Limit, p.Cursor)
	if err != nil {
		return nil, err
	}
	f := orders.Filter{
		Statuses: each(p.Status, func(s OrderStatus) orders.Status { return orders.Status(s) }),
		Progress: each(p.Progress, func(p Progress) orders.Progress { return orders.Progress(p) }), Search: p.Q,
		Reference: p.Reference, CustomerID: p.CustomerID, Block: p.Block, Style: p.Style, Assignee: p.Assignee,
		DueFrom: p.DueFrom.Time, DueBefore: p.DueBefore.Time, Late: p.Late, ByDue: p.Sort == ListOrdersParamsSortDue,
	}
	zone, err := s.service.Access.Location(ctx, callerOf(ctx))
	if err != nil {
		return nil, err
	}
	wrong := refusal{code: codeInvalidRequest}
	for _, moment := range []struct {
		name, text string
		to         *time.Time
	}{
		{"created_from", p.CreatedFrom, &f.CreatedFrom}, {"created_before", p.CreatedBefore, &f.CreatedBefore},
		{"updated_from", p.UpdatedFrom, &f.UpdatedFrom},
	} {
		if *moment.to, err = readMoment(moment.text, zone); err != nil {
			wrong.errors = append(wrong.errors, FieldError{Code: FieldErrorCodeWrongFormat, Parameter: moment.name,
				Detail: "must be a day such as 2026-03-14, or a time such as 2026-03-14T09:26:53Z"})
		}
	}
	if len(wrong.errors) > 0 {
		return nil, &wrong
	}
	list, next, err := s.service.Orders.List(ctx, callerOf(ctx), f, page)
	if err != nil {
		return nil, err
	}
	return ListOrders200JSONResponse{Items: each(list, s.order), NextCursor: cursorOf(next)}, nil
}

// readMoment reads a time, or a day of a time zone; "" is the zero time.
func readMoment(text Moment, zone *time.Location) (time.Time, error) {
	switch len(text) {
	case 0:
		return time.Time{}, nil
	case len(time.DateOnly):
		return time.ParseInLocation(time.DateOnly, text, zone)
	}
	return time.Parse(time.RFC3339, text)
}

// CountOrders counts orders.
func (s *Server) CountOrders(ctx context.Context, _ CountOrdersRequestObject) (CountOrdersResponseObject, error) {
	counts, err := s.service.Orders.Counts(ctx, callerOf(ctx))
	if err != nil {
		return nil, err
	}
	var out CountOrders200JSONResponse
	status := map[orders.Status]*int{orders.Received: &out.Status.Received, orders.Held: &out.Status.Held,
		orders.Ready: &out.Status.Ready, orders.Failed: &out.Status.Failed, orders.Cancelled: &out.Status.Cancelled}
	progress := map[orders.Progress]*int{orders.Uncut: &out.Progress.Uncut, orders.Cut: &out.Progress.Cut,
		orders.Shipped: &out.Progress.Shipped}
	for _, c := range counts {
		out.Total, out.Late, out.Mine = out.Total+c.Orders, out.Late+c.Late, out.Mine+c.Mine
		*status[c.Status] += c.Orders
		*progress[c.Progress] += c.Orders
		if c.Status == orders.Ready && c.Progress == orders.Uncut {
			out.ToCut += c.Orders
		}
	}
	return out, nil
}

// AssignOrder sets due date, assignee and note of an order.
func (s *Server) AssignOrder(ctx context.Context, r AssignOrderRequestObject) (AssignOrderResponseObject, error) {
	change := orders.Reassignment{Assignee: r.Body.Assignee, Note: r.Body.Note}
	if text := r.Body.DueDate; text != nil {
		day, err := orders.ReadDay(*text)
		if err != nil {
			return nil, err
		}
		change.DueDate = &day
	}
	o, err := s.service.Orders.Assign(ctx, callerOf(ctx), r.OrderID, change)
	return AssignOrder200JSONResponse(s.order(o)), err
}

// GetSettings returns the shop's settings.
func (s *Server) GetSettings(ctx context.Context, _ GetSettingsRequestObject) (GetSettingsResponseObject, error) {
	set, err := s.service.Access.Settings(ctx, callerOf(ctx))
	return GetSettings200JSONResponse(settings(set)), err
}

// ChangeSettings changes the shop's settings.
func (s *Server) ChangeSettings(
	ctx context.Context, r ChangeSettingsRequestObject,
) (ChangeSettingsResponseObject, error) {
	set, err := s.service.Access.ChangeSettings(ctx, callerOf(ctx), access.SettingsChange{
		TimeZone: r.Body.TimeZone, RetentionDays: r.Body.RetentionDays, FitEachDraft: r.Body.FitEachDraft,
		HoldOnFitting: (*string)(r.Body.HoldOnFitting)})
	return ChangeSettings200JSONResponse(settings(set)), err
}

func settings(set access.Settings) Settings {
	return Settings{TimeZone: set.TimeZone, RetentionDays: set.RetentionDays, FitEachDraft: set.FitEachDraft,
		HoldOnFitting: HoldOnFitting(set.HoldOnFitting)}
}
