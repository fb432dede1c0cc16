package workroom

import (
	"cmp"
	"encoding/base64"
	"errors"
	"html/template"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/patterns"
)

func (r *Room) registerOrderPages(g *echo.Group) {
	g.GET("/orders/:order/making-sheet.svg", r.signedIn(r.makingSheet))
	g.GET("/orders/:order/compare", r.signedIn(r.compare))
	g.GET("/orders/:order/lay-plan", r.signedIn(r.layPlan))
}

// compareView holds the data of the page that compares two revisions.
type compareView struct {
	orderView
	From, To int
}

// compare shows two revisions of an order beside each other and on each other.
func (r *Room) compare(c echo.Context, s access.Session) error {
	order, err := id(c, "order")
	if err != nil {
		return err
	}
	var v compareView
	if v.orderView, err = r.orderView(c, s, order); err != nil {
		return err
	}
	if len(v.Revisions) < 2 {
		return service.NotFound("earlier revision")
	}
	v.From, v.To = v.Revisions[1].Number, v.Revisions[0].Number
	for name, number := range map[string]*int{"from": &v.From, "to": &v.To} {
		if asked, err := strconv.Atoi(c.QueryParam(name)); err == nil {
			*number = asked
		}
	}
	return r.show(c, http.StatusOK, "compare", &s, v)
}

// layPlanView holds the data of the page of a lay plan.
type layPlanView struct {
	orderRow
	Unit     string
	Width    string
	Spread   string
	Revision int
	Picture  template.URL // "" if there is none
	Trouble  []string
}

// makingSheet is the picture of the making sheet.
func (r *Room) makingSheet(c echo.Context, s access.Session) error {
	order, err := id(c, "order")
	if err != nil {
		return err
	}
	revision, _ := strconv.Atoi(c.QueryParam("revision"))
	f, err := r.service.Patterns.MakingPicture(c.Request().Context(), s.Caller, order, revision)
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, f.MediaType, f.Content)
}

// layPlan shows how an order's pattern lies on cloth of a width.
func (r *Room) layPlan(c echo.Context, s access.Session) error {
	order, err := id(c, "order")
	if err != nil {
		return err
	}
	o, err := r.service.Orders.Get(c.Request().Context(), s.Caller, order)
	if err != nil {
		return err
	}
	v := layPlanView{orderRow: orderRow{Order: o}, Unit: string(o.Spec.Unit),
		Spread: cmp.Or(c.QueryParam("spread"), "fold")}
	usual := "140"
	if v.Unit == "inch" {
		usual = "55"
	}
	v.Width = cmp.Or(c.QueryParam("cloth_width"), usual)
	v.Revision, _ = strconv.Atoi(c.QueryParam("revision"))
	f, err := r.service.Patterns.LayPlan(c.Request().Context(), s.Caller, patterns.LayPlanRequest{Order: order,
		Revision: v.Revision, Format: "svg",
		Cloths: map[string][]string{"cloth_width": {v.Width}, "spread": {v.Spread}}})
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeInvalidInput {
		for _, wrong := range e.Faults {
			v.Trouble = append(v.Trouble, sentence(words(last(wrong.Field))+" "+wrong.Value+": "+wrong.Accepted))
		}
		return r.show(c, http.StatusUnprocessableEntity, "layplan", &s, v)
	}
	if err != nil {
		return err
	}
	v.Picture = template.URL("data:" + f.MediaType + ";base64," + base64.StdEncoding.EncodeToString(f.Content))
	return r.show(c, http.StatusOK, "layplan", &s, v)
}
