package workroom

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service/access"
	"tapeline/service/fittings"
	"tapeline/service/orders"
)

func (r *Room) registerWorn(g *echo.Group) {
	g.GET("/orders/:order/worn", r.signedIn(r.worn))
	g.POST("/orders/:order/worn", r.signedIn(r.tryOn))
	g.POST("/orders/:order/worn/:fitting/cancel", r.signedIn(r.cancelFitting))
}

// wornView holds the data of the part of an order's page about its draft tried on a
// body.
type wornView struct {
	Order  uuid.UUID
	Number int // the revision shown
	CanTry bool
	Unit   string
	Latest *fittings.Fitting // of that revision; nil for none
	Girths []girthView
	Alter  template.URL // query of the page of alterations with those that the cures say; "" for none
}

// girthView is a level of body and garment in the order's unit.
type girthView struct{ Name, Body, Worn, Ease string }

// Open reports whether the latest fitting is not finished.
func (v wornView) Open() bool { return v.Latest != nil && v.Latest.FinishedAt == nil }

func (r *Room) wornView(c echo.Context, s access.Session, o orders.Order, revision int) (wornView, error) {
	v := wornView{Order: o.ID, Number: revision, Unit: string(o.Spec.Unit), CanTry: o.Status != orders.Cancelled}
	list, err := r.service.Fittings.OfOrder(c.Request().Context(), s.Caller, o.ID)
	for _, f := range list {
		if f.Revision == revision {
			v.Latest = &f
			break
		}
	}
	if err != nil || v.Latest == nil || v.Latest.Report == nil {
		return v, err
	}
	alter := url.Values{}
	for name, mm := range v.Latest.Report.Alterations() {
		alter.Set("a."+name, number(mm/millimetres(v.Unit)))
	}
	v.Alter = template.URL(alter.Encode())
	length := func(mm float64) string { return fmt.Sprintf("%.1f", mm/millimetres(v.Unit)) }
	for _, l := range v.Latest.Report.Levels {
		v.Girths = append(v.Girths, girthView{l.Name, length(l.Body), length(l.Worn), length(l.Worn - l.Body)})
	}
	return v, nil
}

// worn is the part of an order's page by itself, while a fitting is under way.
func (r *Room) worn(c echo.Context, s access.Session) error {
	id, err := id(c, "order")
	if err != nil {
		return err
	}
	o, err := r.service.Orders.Get(c.Request().Context(), s.Caller, id)
	if err != nil {
		return err
	}
	number, _ := strconv.Atoi(c.QueryParam("revision"))
	v, err := r.wornView(c, s, o, number)
	if err != nil {
		return err
	}
	return r.write(c, http.StatusOK, "order", "worn", v)
}

func (r *Room) tryOn(c echo.Context, s access.Session) error {
	number, _ := strconv.Atoi(c.FormValue("revision"))
	return r.act(c, "It is being tried on.", func(order uuid.UUID) error {
		_, err := r.service.Fittings.Create(c.Request().Context(), s.Caller,
			fittings.Request{Order: order, Revision: number, Cures: true})
		return err
	})
}

func (r *Room) cancelFitting(c echo.Context, s access.Session) error {
	fitting, err := id(c, "fitting")
	if err != nil {
		return err
	}
	return r.act(c, "Cancelled.", func(uuid.UUID) error {
		_, err := r.service.Fittings.Cancel(c.Request().Context(), s.Caller, fitting)
		return err
	})
}
