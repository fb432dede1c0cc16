package workroom

import (
	"encoding/base64"
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/customers"
	"tapeline/service/orders"
)

func (r *Room) registerFitting(g *echo.Group) {
	g.GET("/orders/:order/fitting", r.signedIn(r.fittingPage))
	g.POST("/orders/:order/fitting", r.signedIn(r.tryFitting))
	g.POST("/orders/:order/fitting/apply", r.signedIn(r.applyFitting))
}

type fittingView struct {
	orderRow
	Title  string
	Unit   string
	Fields []alterationField
	Reason string
	Faults service.Faults
	Tried  *alteredView
	Others int // other open orders of the customer
}

type alterationField struct {
	Name, Help        string
	Min, Max          string // in the order's unit
	Sided             bool
	Both, Left, Right string // as typed
}

type alteredView struct {
	Largest  string
	Picture  template.URL // of what would move
	Pieces   []movedView
	Measures []changedView
	Warnings []string
}

type movedView struct{ Piece, Largest string }

type changedView struct{ Name, Was, Now, Difference string }

// fitting returns the form for an order with values by field name.
func (r *Room) fitting(c echo.Context, s access.Session, value func(string) string) (v fittingView, err error) {
	ctx := c.Request().Context()
	id, err := id(c, "order")
	if err != nil {
		return v, err
	}
	if v.Order, err = r.service.Orders.Get(ctx, s.Caller, id); err != nil {
		return v, err
	}
	if _, err := r.service.Customers.GetUnerased(ctx, s.Caller, v.CustomerID); err != nil {
		return v, err
	}
	v.Title, v.Unit = v.Reference, string(v.Spec.Unit)
	known, err := r.service.Orders.Alterable(ctx, v.Order)
	if err != nil {
		return v, err
	}
	scale := millimetres(v.Unit)
	for _, a := range known {
		v.Fields = append(v.Fields, alterationField{Name: a.Name, Help: a.Help, Sided: a.Sided,
			Min: number(a.Min / scale), Max: number(a.Max / scale), Both: value("a." + a.Name),
			Left: value("left." + a.Name), Right: value("right." + a.Name)})
	}
	open, _, err := r.service.Orders.List(ctx, s.Caller, orders.Filter{CustomerID: v.CustomerID,
		Statuses: []orders.Status{orders.Ready}, Progress: []orders.Progress{orders.Uncut}}, service.Page{Limit: rows})
	for _, o := range open {
		if o.ID != id {
			v.Others++
		}
	}
	return v, err
}

// latestAlterations returns the customer's alterations as fields of the form.
func (r *Room) latestAlterations(c echo.Context, s access.Session, o orders.Order) (url.Values, error) {
	sets, _, err := r.service.Customers.AlterationSets(c.Request().Context(), s.Caller, o.CustomerID,
		service.Page{Limit: 1})
	form := url.Values{}
	if err != nil || len(sets) == 0 {
		return form, err
	}
	scale := millimetres(sets[0].Unit) / millimetres(string(o.Spec.Unit))
	fill := func(prefix string, values map[string]any) {
		for name, v := range values {
			if amount, ok := v.(float64); ok {
				form.Set(prefix+name, number(amount*scale))
			}
		}
	}
	fill("a.", sets[0].Values)
	for _, side := range []string{"left", "right"} {
		if values, ok := sets[0].Values[side].(map[string]any); ok {
			fill(side+".", values)
		}
	}
	return form, nil
}

// fittingPage shows the form with the customer's alterations, and those that the query names
// instead: a draft that was tried on says what would cure it.
func (r *Room) fittingPage(c echo.Context, s access.Session) error {
	v, err := r.fitting(c, s, func(string) string { return "" })
	if err != nil {
		return err
	}
	latest, err := r.latestAlterations(c, s, v.Order)
	if err != nil {
		return err
	}
	for name, values := range c.QueryParams() {
		latest[name] = values
	}
	if v, err = r.fitting(c, s, latest.Get); err != nil {
		return err
	}
	return r.show(c, http.StatusOK, "fitting", &s, v)
}

// readAlterations reads the form. Empty fields and zeros alter nothing.
func readAlterations(form url.Values, unit string) (customers.Alterations, error) {
	a := customers.Alterations{Unit: unit, Values: map[string]any{}}
	var faults service.Faults
	for _, side := range []string{"a", "left", "right"} {
		given := url.Values{}
		for name := range form {
			if rest, ok := strings.CutPrefix(name, side+"."); ok {
				given["m."+rest] = form[name]
			}
		}
		amounts := map[string]float64{}
		if e, ok := errors.AsType[*service.Error](readNumbers(given, amounts)); ok {
			faults = append(faults, e.Faults...)
		}
		into := a.Values
		if side != "a" {
			into = map[string]any{}
		}
		for name, amount := range amounts {
			if amount != 0 {
				into[name] = amount
			}
		}
		if side != "a" && len(into) > 0 {
			a.Values[side] = into
		}
	}
	if len(faults) > 0 {
		return a, service.Invalid(faults)
	}
	return a, nil
}

// tryFitting shows what the alterations would move, and stores nothing.
func (r *Room) tryFitting(c echo.Context, s access.Session) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	v, err := r.fitting(c, s, form.Get)
	if err != nil {
		return err
	}
	v.Reason = form.Get("reason")
	a, err := readAlterations(form, v.Unit)
	var tried orders.Altered
	if err == nil {
		tried, err = r.service.Orders.TryAlterations(c.Request().Context(), s.Caller, v.ID, a)
	}
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeInvalidInput {
		v.Faults = e.Faults
		return r.show(c, http.StatusUnprocessableEntity, "fitting", &s, v)
	}
	if err != nil {
		return err
	}
	v.Tried = showAltered(tried, millimetres(v.Unit))
	return r.show(c, http.StatusOK, "fitting", &s, v)
}

// showAltered writes lengths in a unit of scale mm.
func showAltered(tried orders.Altered, scale float64) *alteredView {
	// The picture is ours, and a data address is permitted for images alone.
	t := &alteredView{Largest: number(tried.Largest / scale), Warnings: tried.Warnings,
		Picture: template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString(tried.Picture))}
	slices.SortStableFunc(tried.Pieces, func(a, b orders.Moved) int {
		if a.Largest > b.Largest {
			return -1
		}
		return 1
	})
	for _, p := range tried.Pieces {
		t.Pieces = append(t.Pieces, movedView{words(p.Piece), number(p.Largest / scale)})
	}
	for _, m := range tried.Measures {
		if change := number((m.Now - m.Was) / scale); change != "0" {
			if m.Now > m.Was {
				change = "+" + change
			}
			t.Measures = append(t.Measures, changedView{words(m.Name), number(m.Was / scale), number(m.Now / scale), change})
		}
	}
	return t
}

// applyFitting stores the alterations for the customer and drafts the order again;
// the customer's other open orders too, if that is chosen.
func (r *Room) applyFitting(c echo.Context, s access.Session) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	v, err := r.fitting(c, s, form.Get)
	if err != nil {
		return err
	}
	a, err := readAlterations(form, v.Unit)
	if err != nil {
		return err
	}
	here := Root + "/orders/" + v.ID.String()
	if err := v.Status.Allow(orders.Revise); err != nil {
		return r.done(c, here, "Not applied: %s", sentence(err.Error()))
	}
	reason := strings.TrimSpace(form.Get("reason"))
	if reason == "" {
		reason = "after a fitting"
	}
	if _, err := r.service.Customers.AddAlterations(ctx, s.Caller, v.CustomerID, a, reason); err != nil {
		return err
	}
	targets := []uuid.UUID{v.ID}
	if form.Get("all") != "" {
		open, _, err := r.service.Orders.List(ctx, s.Caller, orders.Filter{CustomerID: v.CustomerID,
			Statuses: []orders.Status{orders.Ready}, Progress: []orders.Progress{orders.Uncut}}, service.Page{Limit: rows})
		if err != nil {
			return err
		}
		for _, o := range open {
			if o.ID != v.ID {
				targets = append(targets, o.ID)
			}
		}
	}
	for _, order := range targets {
		if _, err := r.service.Orders.Revise(ctx, s.Caller, order, orders.Change{Reason: reason}); err != nil {
			return err
		}
	}
	if len(targets) == 1 {
		return r.done(c, here, "Applied. The order is being drafted again.")
	}
	return r.done(c, here, "Applied. %d orders are being drafted again.", len(targets))
}
