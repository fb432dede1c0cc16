package workroom

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service/access"
	"tapeline/service/fittings"
	"tapeline/service/refits"
)

// refitWornView holds the data of the part of a refit's page about the fit of its
// orders in both drafts.
type refitWornView struct {
	ID     uuid.UUID
	CanTry bool
	Usual  int              // how many orders are tried on
	Found  *refits.Fittings // nil for none
	Done   int              // orders that are finished
	Places []wornPlaceView
	Orders []wornOrderView
}

// wornPlaceView says what becomes of the findings at a place.
type wornPlaceView struct {
	wornChangeView
	Orders    string // how many by effect
	Reference string // of the order that gets worst
}

// wornChangeView is a finding before and after a refit, in words.
type wornChangeView struct{ Place, Kind, Effect, Before, After, Limit string }

// wornOrderView is an order tried on in both drafts.
type wornOrderView struct {
	refits.Order
	Settled bool
	Changes []wornChangeView
	Girths  []wornGirthView
}

// wornGirthView is the ease as worn at a level, mm.
type wornGirthView struct{ Name, Before, After string }

// Open reports whether an order waits to be tried on.
func (v refitWornView) Open() bool { return v.Found != nil && v.Found.Open() }

func wornOf(r refits.View) refitWornView {
	v := refitWornView{ID: r.ID, Usual: refits.UsualSample, Found: r.Fittings,
		CanTry: r.Status == refits.ToDecide && r.Change.Engine == nil && r.Previews["changes"] > 0}
	if v.Found == nil {
		return v
	}
	v.Done = len(v.Found.Orders) - v.Found.States[fittings.Queued]
	for _, p := range v.Found.Places {
		v.Places = append(v.Places, wornPlaceView{wornChange(p.Worst), effectsWords(p.Effects), p.Reference})
	}
	for _, o := range v.Found.Orders {
		v.Orders = append(v.Orders, wornOrder(o))
	}
	return v
}

func wornOrder(o refits.Order) wornOrderView {
	v := wornOrderView{Order: o}
	f := o.Fitting
	if f.Before == nil {
		return v
	}
	v.Settled = f.Before.Settled && f.After.Settled
	for _, c := range f.Changes {
		v.Changes = append(v.Changes, wornChange(c))
	}
	for _, g := range f.Girths {
		v.Girths = append(v.Girths, wornGirthView{g.Name, fmt.Sprintf("%.0f", g.Before-g.Body),
			fmt.Sprintf("%.0f", g.After-g.Body)})
	}
	return v
}

func wornChange(c refits.FittingChange) wornChangeView {
	amount := func(v *float64) string {
		switch {
		case v == nil:
			return "not there"
		case c.Unit == "%":
			return fmt.Sprintf("%.1f\u00a0%%", *v)
		}
		return fmt.Sprintf("%.0f\u00a0%s", *v, c.Unit)
	}
	return wornChangeView{c.Place, kindWords(string(c.Kind)), string(c.Effect), amount(c.Before), amount(c.After),
		amount(&c.Limit)}
}

// kindWords says of what kind a finding is.
func kindWords(kind string) string {
	switch kind {
	case "hangs":
		return "not level or not plumb"
	case "balance":
		return "too far forward or back"
	case "not_put_on":
		return "cannot be put on"
	}
	return words(kind) // tight, stands off
}

// effectsWords says how many orders a finding gets worse for, and better.
func effectsWords(effects map[refits.Effect]int) string {
	var list []string
	for effect, n := range effects {
		list = append(list, fmt.Sprintf("%d %s", n, effect))
	}
	slices.Sort(list)
	slices.Reverse(list)
	return strings.Join(list, ", ")
}

// refitWorn is the part of a refit's page by itself, while orders are tried on.
func (r *Room) refitWorn(c echo.Context, s access.Session) error {
	id, err := id(c, "refit")
	if err != nil {
		return err
	}
	v, err := r.service.Refits.Get(c.Request().Context(), s.Caller, id)
	if err != nil {
		return err
	}
	return r.write(c, http.StatusOK, "refit", "refit-worn", wornOf(v))
}

func (r *Room) tryRefitOn(c echo.Context, s access.Session) error {
	sample, err := strconv.Atoi(c.FormValue("sample"))
	if err != nil {
		sample = refits.UsualSample
	}
	return r.refitAct(c, "Orders are being tried on.", func(id uuid.UUID) error {
		_, err := r.service.Refits.TryOn(c.Request().Context(), s.Caller, id,
			refits.Wearing{Sample: min(max(1, sample), refits.MaxSample)})
		return err
	})
}

func (r *Room) cancelRefitWorn(c echo.Context, s access.Session) error {
	return r.refitAct(c, "Cancelled. What was found stays.", func(id uuid.UUID) error {
		_, err := r.service.Refits.CancelTryOn(c.Request().Context(), s.Caller, id)
		return err
	})
}
