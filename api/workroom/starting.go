package workroom

import (
	"cmp"
	"net/http"
	"net/url"
	"strconv"

	"github.com/labstack/echo/v4"

	"tapeline/service/access"
	"tapeline/service/styles"
)

func (r *Room) registerStart(g *echo.Group) {
	g.GET("/new-style", r.signedIn(r.startPage))
	g.POST("/new-style", r.signedIn(r.startStyle))
	g.GET("/new-style/blocks/:block/picture.svg", r.signedIn(r.startPicture))
	g.GET("/first-dress", r.signedIn(r.firstDress))
	g.GET("/first-dress/:step/picture.svg", r.signedIn(r.firstDressPicture))
}

// startView lists what a new style can begin with.
type startView struct {
	Title   string
	Fault   string // what is wrong with the title
	From    string // what was chosen
	Blocks  []styles.Start
	Own     []styles.Listing
	BuiltIn []styles.Listing
	Small   string // the name of the small top
}

func (r *Room) startView(c echo.Context, s access.Session) (v startView, err error) {
	v = startView{Title: c.FormValue("title"), From: cmp.Or(c.FormValue("from"), styles.Starts()[0].From()),
		Blocks: styles.Starts(), Small: styles.SmallTop}
	list, err := r.service.Styles.List(c.Request().Context(), s.Caller)
	for _, l := range list {
		if l.Origin == styles.Own {
			v.Own = append(v.Own, l)
		} else {
			v.BuiltIn = append(v.BuiltIn, l)
		}
	}
	return v, err
}

func (r *Room) startPage(c echo.Context, s access.Session) error {
	v, err := r.startView(c, s)
	if err != nil {
		return err
	}
	return r.show(c, http.StatusOK, "new-style", &s, v)
}

// startStyle leads to the place to write a style that begins with what was chosen.
// Nothing is stored until it is saved there.
func (r *Room) startStyle(c echo.Context, s access.Session) error {
	v, err := r.startView(c, s)
	if err != nil {
		return err
	}
	if faults := styles.CheckTitle(v.Title); len(faults) > 0 {
		v.Fault = "Want " + faults[0].Accepted + "."
		return r.show(c, http.StatusUnprocessableEntity, "new-style", &s, v)
	}
	return c.Redirect(http.StatusSeeOther, writeAddress("")+"?"+
		url.Values{"from": {v.From}, "title": {v.Title}}.Encode())
}

// startPicture draws what a style begins with on a body of middle size.
func (r *Room) startPicture(c echo.Context, s access.Session) error {
	picture, err := r.service.Styles.StartPicture(c.Request().Context(), s.Caller, c.Param("block"))
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "image/svg+xml", picture)
}

// firstDress walks through the making of a first dress.
func (r *Room) firstDress(c echo.Context, s access.Session) error {
	return r.show(c, http.StatusOK, "first-dress", &s, styles.FirstDress())
}

// firstDressPicture draws the dress after a step.
func (r *Room) firstDressPicture(c echo.Context, s access.Session) error {
	step, _ := strconv.Atoi(c.Param("step"))
	picture, err := r.service.Styles.FirstDressPicture(c.Request().Context(), s.Caller, step)
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "image/svg+xml", picture)
}
