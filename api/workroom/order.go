package workroom

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/orders"
	"tapeline/service/patterns"
)

func (r *Room) registerOrder(g *echo.Group) {
	r.registerQuestions(g)
	r.registerWorn(g)
	g.GET("/orders/:order", r.signedIn(r.order))
	g.GET("/orders/:order/estimates", r.signedIn(r.estimates))
	g.GET("/orders/:order/papers", r.signedIn(r.papers))
	g.POST("/orders/:order/assign", r.signedIn(r.assign))
	g.POST("/orders/:order/hold", r.signedIn(r.hold))
	g.POST("/orders/:order/cancel", r.signedIn(r.cancel))
	g.POST("/orders/:order/progress", r.signedIn(r.progress))
	g.POST("/orders/:order/draft", r.signedIn(r.draftAgain))
}

// orderView holds the data of the page of an order.
type orderView struct {
	orderRow
	Title     string
	Assign    assignView
	People    []string
	Unit      string
	Files     string // address of the pattern's files, without the format
	Number    int    // the revision shown; 0 for none
	Paper     []paperView
	Questions []questionView
	Worn      wornView
	Reasons   []string // why it is held, has failed or was cancelled, unless questions say it
	Checks    []checkView
	Revisions []orders.Revision
	Events    []eventView
	Event     int64 // the last one that the page knows of
}

// paperView is a paper to print on.
type paperView struct {
	Name  string
	Pages int // 0: not counted
}

type checkView struct {
	Name                  string
	Body, Ease, Drafted   string
	Estimated, Off, Least bool
	Where                 string
}

type eventView struct {
	orders.Event
	Words string
}

// Can reports whether the order takes an act now.
func (v orderView) Can(act string) bool {
	switch act {
	case "print":
		return v.Status == orders.Ready
	case "hold":
		return v.Status == orders.Ready || v.Status == orders.Received
	case "confirm":
		return v.Status == orders.Held
	case "cancel":
		return v.Status != orders.Cancelled
	case "cut", "ship":
		return v.Status == orders.Ready && v.Progress != orders.Shipped && (act == "ship" || v.Progress == orders.Uncut)
	case "draft":
		return v.Status == orders.Failed || v.Status == orders.Ready && v.Progress == orders.Uncut
	}
	return false
}

// First are the checks that a cutter asks for first: the girths and lengths of the
// body, and all that are off.
func (v orderView) First() []checkView {
	return slices.DeleteFunc(slices.Clone(v.Checks), func(c checkView) bool { return c.Body == "" && !c.Off })
}

// Others are the checks of seams and darts.
func (v orderView) Others() []checkView {
	return slices.DeleteFunc(slices.Clone(v.Checks), func(c checkView) bool { return c.Body != "" || c.Off })
}

func (r *Room) order(c echo.Context, s access.Session) error {
	id, err := id(c, "order")
	if err != nil {
		return err
	}
	v, err := r.orderView(c, s, id)
	if err != nil {
		return err
	}
	if isPart(c) {
		return r.showPart(c, "order", "sheet", v)
	}
	return r.show(c, http.StatusOK, "order", &s, v)
}

func (r *Room) orderView(c echo.Context, s access.Session, id uuid.UUID) (v orderView, err error) {
	ctx := c.Request().Context()
	if v.Event, err = r.service.Orders.LastEvent(ctx, s.Caller, id); err != nil {
		return v, err
	}
	if v.Order, err = r.service.Orders.Get(ctx, s.Caller, id); err != nil {
		return v, err
	}
	v.Title, v.Unit, v.Number = v.Reference, string(v.Spec.Unit), v.Revision
	v.Files = strings.TrimSuffix(patternAddress(id, ""), ".")
	if v.Revisions, err = r.service.Orders.Revisions(ctx, s.Caller, id); err != nil {
		return v, err
	}
	if asked, err := strconv.Atoi(c.QueryParam("revision")); err == nil {
		v.Number = asked
	}
	if v.Number == 0 && len(v.Revisions) > 0 {
		v.Number = v.Revisions[0].Number
	}
	for _, revision := range v.Revisions {
		if revision.Number == v.Number {
			v.Checks = r.checks(revision, v.Unit)
		}
	}
	for _, paper := range patterns.Papers() {
		v.Paper = append(v.Paper, paperView{Name: paper.Name})
	}
	if v.Today, err = r.service.Orders.Today(ctx, s.Caller); err != nil {
		return v, err
	}
	if v.People, err = r.people(c, s); err != nil {
		return v, err
	}
	v.Assign = newAssignView(v.Assignment)
	if err := r.addQuestions(c, s, &v); err != nil {
		return v, err
	}
	if v.Worn, err = r.wornView(c, s, v.Order, v.Number); err != nil {
		return v, err
	}
	events, err := r.service.Orders.History(ctx, s.Caller, id)
	for _, e := range slices.Backward(events) {
		v.Events = append(v.Events, eventView{e, eventWords(e)})
	}
	return v, err
}

// papers is the part of an order's page that prints, with the pages that each paper
// takes. Counting them takes longer than the rest of the page.
func (r *Room) papers(c echo.Context, s access.Session) error {
	id, err := id(c, "order")
	if err != nil {
		return err
	}
	number, _ := strconv.Atoi(c.QueryParam("revision"))
	counts, err := r.service.Patterns.PageCounts(c.Request().Context(), s.Caller, id, number, patterns.Options{})
	if err != nil {
		return err
	}
	v := orderView{Number: number, Files: strings.TrimSuffix(patternAddress(id, ""), ".")}
	for _, count := range counts {
		v.Paper = append(v.Paper, paperView{count.Paper, count.Pages})
	}
	return r.showPart(c, "order", "papers", v)
}

// checks are the measurements of a draft, in the order's unit.
func (r *Room) checks(revision orders.Revision, unit string) []checkView {
	var list []checkView
	length := func(mm float64) string { return number(mm / millimetres(unit)) }
	for _, check := range revision.Checks {
		view := checkView{Name: words(check.Name), Drafted: length(check.Drafted), Estimated: check.Estimated,
			Least: check.AtLeast, Where: check.Where}
		if check.Body != 0 {
			view.Body, view.Ease = length(check.Body), length(check.Ease+check.Alteration)
		}
		view.Off = !check.AtLeast && (check.Difference > check.Tolerance || -check.Difference > check.Tolerance)
		list = append(list, view)
	}
	return list
}

// millimetres returns the length of a unit.
func millimetres(unit string) float64 {
	if unit == "inch" {
		return 25.4
	}
	return 10
}

// eventWords says what happened in words.
func eventWords(e orders.Event) string {
	text := map[string]string{
		"asked": "the customer was asked", "answered": "answered by the customer",
		"received": "placed by the shop", "ready": "drafted", "revised": "drafted again", "held": "held",
		"confirmed": "confirmed", "revising": "to be drafted again", "cancelled": "cancelled", "failed": "failed",
		"cut": "cut", "shipped": "shipped", "uncut": "marked as not cut",
		"updated": "due date, assignee or note changed",
	}[e.Event]
	text = cmp.Or(text, words(e.Event))
	if e.Revision != nil && (e.Event == "ready" || e.Event == "revised") {
		text += fmt.Sprintf(" as revision %d", *e.Revision)
	}
	switch {
	case e.Reason == string(orders.Implausible):
		text += ": a question about the measurements"
	case e.Reason != "":
		text += ": " + words(e.Reason)
	}
	for _, confirmed := range e.Confirmed {
		text += "; " + words(last(confirmed.Field)) + " is right"
	}
	return text
}

type estimatesView struct {
	Unit  string
	List  []estimateView
	Error string
}

type estimateView struct{ Name, Value, Spread, Moves string }

// estimates is the part of an order's page that says what was guessed.
func (r *Room) estimates(c echo.Context, s access.Session) error {
	id, err := id(c, "order")
	if err != nil {
		return err
	}
	o, err := r.service.Orders.Get(c.Request().Context(), s.Caller, id)
	if err != nil {
		return err
	}
	revision, _ := strconv.Atoi(c.QueryParam("revision"))
	v := estimatesView{Unit: string(o.Spec.Unit)}
	found, err := r.service.Orders.Estimates(c.Request().Context(), s.Caller, id, revision)
	if e, ok := errors.AsType[*service.Error](err); ok {
		v.Error = sentence(e.Detail)
		return r.showPart(c, "order", "estimates", v)
	}
	if err != nil {
		return err
	}
	scale := millimetres(v.Unit)
	for _, e := range found {
		view := estimateView{Name: words(e.Name)}
		if e.Unit == "degree" {
			view.Value, view.Spread = number(e.Value)+"°", number(e.Spread)+"°"
		} else {
			view.Value, view.Spread = number(e.Value/scale), number(e.Spread/scale)
		}
		if len(e.Undraftable) > 0 {
			view.Moves = sentence(e.Undraftable[0])
		} else if e.Move > 0 {
			view.Moves = fmt.Sprintf("%s moves %s", words(e.Piece), number(e.Move/scale))
		}
		v.List = append(v.List, view)
	}
	return r.showPart(c, "order", "estimates", v)
}

// act does something to the order of the path and returns to its page. What cannot
// be done is said there: another person may have been faster.
func (r *Room) act(c echo.Context, notice string, do func(order uuid.UUID) error) error {
	id, err := id(c, "order")
	if err != nil {
		return err
	}
	here := Root + "/orders/" + id.String()
	err = do(id)
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeWrongState {
		return r.done(c, here, "Not done: %s. The page shows the order as it is now.", e.Detail)
	}
	if err != nil {
		return err
	}
	return r.done(c, here, "%s", notice)
}

func (r *Room) hold(c echo.Context, s access.Session) error {
	return r.act(c, "Held. Its files are not handed out until it is confirmed.", func(order uuid.UUID) error {
		_, err := r.service.Orders.Hold(c.Request().Context(), s.Caller, order, c.FormValue("reason"))
		return err
	})
}

func (r *Room) cancel(c echo.Context, s access.Session) error {
	return r.act(c, "Cancelled.", func(order uuid.UUID) error {
		_, err := r.service.Orders.Cancel(c.Request().Context(), s.Caller, order, c.FormValue("reason"))
		return err
	})
}

func (r *Room) progress(c echo.Context, s access.Session) error {
	p := orders.Progress(c.FormValue("progress"))
	if !slices.Contains([]orders.Progress{orders.Uncut, orders.Cut, orders.Shipped}, p) {
		return service.NotFound("progress")
	}
	return r.act(c, sentence("marked as "+string(p)), func(order uuid.UUID) error {
		_, err := r.service.Orders.SetProgress(c.Request().Context(), s.Caller, order, p, c.FormValue("reason"))
		return err
	})
}

// draftAgain drafts the order with the customer's latest alterations.
func (r *Room) draftAgain(c echo.Context, s access.Session) error {
	return r.act(c, "The order is being drafted again.", func(order uuid.UUID) error {
		_, err := r.service.Orders.Revise(c.Request().Context(), s.Caller, order,
			orders.Change{Reason: c.FormValue("reason")})
		return err
	})
}
