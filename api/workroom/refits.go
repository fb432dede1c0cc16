package workroom

import (
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/blocks"
	"tapeline/service/refits"
	"tapeline/service/styles"
)

func (r *Room) registerRefits(g *echo.Group) {
	g.GET("/refits", r.signedIn(r.refits))
	g.GET("/refits/new", r.signedIn(r.newRefitPage))
	g.POST("/refits/new", r.signedIn(r.newRefit))
	g.GET("/refits/:refit", r.signedIn(r.refit))
	g.POST("/refits/:refit/decide", r.signedIn(r.decideRefit))
	g.POST("/refits/:refit/stop", r.signedIn(r.stopRefit))
	g.GET("/refits/:refit/worn", r.signedIn(r.refitWorn))
	g.POST("/refits/:refit/worn", r.signedIn(r.tryRefitOn))
	g.POST("/refits/:refit/worn/cancel", r.signedIn(r.cancelRefitWorn))
}

// refitRow is a refit in a list.
type refitRow struct{ refits.Refit }

// What says what the refit changes.
func (v refitRow) What() string {
	switch c := v.Change; {
	case c.Style != nil && c.Style.To > 0:
		return fmt.Sprintf("%s, revision %d", words(c.Style.Style), c.Style.To)
	case c.Style != nil:
		return words(c.Style.Style) + " as it now is"
	case c.Fit != nil:
		return fitWords(*c.Fit)
	case c.Measurements != nil:
		return "a customer's new measurements"
	case c.Alterations != nil:
		return "a customer's new alterations"
	}
	return "this release of the program"
}

func fitWords(f refits.FitChange) string {
	text := fmt.Sprintf("%s, %s fit", words(strings.ReplaceAll(f.Block+f.Style, "-", " ")), f.To)
	if f.From != f.To {
		text += " in place of " + f.From
	}
	var eases []string
	for name, ease := range f.Ease {
		eases = append(eases, fmt.Sprintf("%s ease %s %s", words(name), number(ease), f.Unit))
	}
	slices.Sort(eases)
	if eases != nil {
		text += ": " + strings.Join(eases, ", ")
	}
	return text
}

// State says how far the refit is.
func (v refitRow) State() string {
	switch v.Status {
	case refits.Previewing:
		return "being previewed"
	case refits.ToDecide:
		return "to be decided"
	case refits.Applying:
		return "being applied"
	}
	return string(v.Status)
}

type refitsView struct {
	List []refitRow
	Next string
}

func (r *Room) refits(c echo.Context, s access.Session) error {
	list, next, err := r.service.Refits.List(c.Request().Context(), s.Caller, pageOf(c))
	if err != nil {
		return err
	}
	var v refitsView
	for _, one := range list {
		v.List = append(v.List, refitRow{one})
	}
	if next != uuid.Nil {
		v.Next = Root + "/refits?after=" + next.String()
	}
	return r.show(c, http.StatusOK, "refits", &s, v)
}

// newRefitView is the form for a refit. Garments are written block:NAME or
// style:SLUG.
type newRefitView struct {
	Garments []garmentOption
	Garment  string
	Fits     []string
	Eases    []easeField
	Style    string // whose latest revision can be applied; "" for a block
	Values   url.Values
	Faults   service.Faults
	Error    string
}

type garmentOption struct{ Value, Title string }

type easeField struct{ Name, Usual, Typed string }

func (r *Room) newRefitView(c echo.Context, s access.Session, form url.Values) (newRefitView, error) {
	v := newRefitView{Garment: form.Get("garment"), Values: form}
	list, err := r.service.Styles.List(c.Request().Context(), s.Caller)
	if err != nil {
		return v, err
	}
	for _, style := range list {
		v.Garments = append(v.Garments, garmentOption{"style:" + style.Slug, style.Title})
	}
	for _, b := range blocks.List() {
		v.Garments = append(v.Garments, garmentOption{"block:" + b.Name, b.Title + " (block)"})
	}
	kind, name, _ := strings.Cut(v.Garment, ":")
	switch kind {
	case "block":
		b, err := blocks.Get(name)
		if err != nil {
			return v, err
		}
		for _, fit := range b.Fits {
			v.Fits = append(v.Fits, fit.Name)
		}
		for _, ease := range b.Fits[0].Ease {
			v.Eases = append(v.Eases, easeField{ease.Name, number(ease.Value / 10), form.Get("ease." + ease.Name)})
		}
	case "style":
		d, err := r.service.Styles.Style(c.Request().Context(), s.Caller, name, styles.Unit("cm"))
		if err != nil {
			return v, err
		}
		v.Style = name
		for i, fit := range d.Description.Fits {
			v.Fits = append(v.Fits, fit.Name)
			if i > 0 {
				continue
			}
			for _, ease := range slices.Sorted(maps.Keys(fit.Ease)) {
				v.Eases = append(v.Eases, easeField{ease, number(fit.Ease[ease]), form.Get("ease." + ease)})
			}
		}
	}
	return v, nil
}

func (r *Room) newRefitPage(c echo.Context, s access.Session) error {
	v, err := r.newRefitView(c, s, c.QueryParams())
	if err != nil {
		return err
	}
	return r.show(c, http.StatusOK, "refit-new", &s, v)
}

// newRefit begins the preview of a change.
func (r *Room) newRefit(c echo.Context, s access.Session) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	v, err := r.newRefitView(c, s, form)
	if err != nil {
		return err
	}
	input, err := refitInput(form)
	var created refits.Refit
	if err == nil {
		created, err = r.service.Refits.Create(c.Request().Context(), s.Caller, input)
	}
	if e, ok := errors.AsType[*service.Error](err); ok {
		v.Faults = e.Faults
		if len(e.Faults) == 0 {
			v.Error = sentence(e.Detail)
		}
		if e.Code == service.CodeScopeEmpty {
			v.Error = "No order is in the scope: nothing that is ready or held would change."
		}
		return r.show(c, http.StatusUnprocessableEntity, "refit-new", &s, v)
	}
	if err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, Root+"/refits/"+created.ID.String())
}

// refitInput reads the form for a refit.
func refitInput(form url.Values) (refits.Input, error) {
	in := refits.Input{Paper: "a4", Reason: strings.TrimSpace(form.Get("reason"))}
	kind, name, _ := strings.Cut(form.Get("garment"), ":")
	if form.Get("change") == "style" {
		in.Change.Style = &refits.StyleChange{Style: name}
		return in, nil
	}
	f := refits.FitChange{From: form.Get("from"), To: form.Get("to"), Unit: "cm", Ease: map[string]float64{}}
	if kind == "style" {
		f.Style = name
	} else {
		f.Block = name
	}
	given := url.Values{}
	for field := range form {
		if ease, ok := strings.CutPrefix(field, "ease."); ok {
			given["m."+ease] = form[field]
		}
	}
	err := readNumbers(given, f.Ease)
	if len(f.Ease) == 0 {
		f.Unit, f.Ease = "", nil
	}
	in.Change.Fit = &f
	return in, err
}

type refitView struct {
	refitRow
	View   refits.View
	Worn   refitWornView
	Orders []refitOrderView
	Next   string
	Bars   []bar
	Live   bool // it goes on by itself: the page asks again
}

type refitOrderView struct {
	refits.Order
	Largest string // mm
	Words   string
}

// bar is one row of the distribution of moves.
type bar struct {
	Title  string
	Orders int
}

func (r *Room) refit(c echo.Context, s access.Session) error {
	ctx := c.Request().Context()
	id, err := id(c, "refit")
	if err != nil {
		return err
	}
	var v refitView
	if v.View, err = r.service.Refits.Get(ctx, s.Caller, id); err != nil {
		return err
	}
	v.refitRow, v.Worn = refitRow{v.View.Refit}, wornOf(v.View)
	v.Live = v.Status == refits.Previewing || v.Status == refits.Applying
	if v.Status != refits.Previewing {
		list, next, err := r.service.Refits.ListOrders(ctx, s.Caller, id, refits.OrderFilter{}, pageOf(c))
		if err != nil {
			return err
		}
		for _, o := range list {
			v.Orders = append(v.Orders, refitOrder(o))
		}
		if next != uuid.Nil {
			v.Next = Root + "/refits/" + id.String() + "?after=" + next.String()
		}
	}
	if v.View.Moves != nil {
		v.Bars = bars(v.View.Moves.Histogram)
	}
	if isPart(c) {
		return r.showPart(c, "refit", "refit", v)
	}
	return r.show(c, http.StatusOK, "refit", &s, v)
}

func refitOrder(o refits.Order) refitOrderView {
	v := refitOrderView{Order: o, Words: words(o.Preview)}
	if o.Comparison != nil {
		v.Largest = number(o.Comparison.Largest)
	}
	if o.Reason != "" {
		v.Words += ": " + o.ReasonDetail()
	}
	for _, f := range o.Faults {
		v.Words += "; " + f.Accepted
	}
	return v
}

func bars(histogram []refits.MoveCount) []bar {
	var list []bar
	for _, count := range histogram {
		title := fmt.Sprintf("%s to %s mm", number(count.Min), number(count.Max))
		switch {
		case count.Min == 0:
			title = "under " + number(count.Max) + " mm"
		case count.Max == 0:
			title = number(count.Min) + " mm and more"
		}
		if count.Count > 0 {
			list = append(list, bar{title, count.Count})
		}
	}
	return list
}

// decide applies the refit to all, to the chosen or to none of its orders. Whoever
// decides second sees what the first decided.
func (r *Room) decideRefit(c echo.Context, s access.Session) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	d := refits.Decision{Apply: refits.Apply(form.Get("apply"))}
	if !slices.Contains([]refits.Apply{refits.All, refits.Some, refits.None}, d.Apply) {
		return service.NotFound("decision")
	}
	if d.Apply == refits.Some {
		for _, text := range form["order"] {
			if parsed, err := uuid.Parse(text); err == nil {
				d.Orders = append(d.Orders, parsed)
			}
		}
	}
	return r.refitAct(c, "Decided.", func(id uuid.UUID) error {
		if d.Apply == refits.Some && len(d.Orders) == 0 {
			return service.Refuse(service.CodeWrongState, "choose at least one order")
		}
		_, err := r.service.Refits.Decide(c.Request().Context(), s.Caller, id, d)
		return err
	})
}

func (r *Room) stopRefit(c echo.Context, s access.Session) error {
	return r.refitAct(c, "Stopped. What was applied stays.", func(id uuid.UUID) error {
		_, err := r.service.Refits.Stop(c.Request().Context(), s.Caller, id)
		return err
	})
}

// refitAct does something to the refit of the path and returns to its page.
func (r *Room) refitAct(c echo.Context, notice string, do func(uuid.UUID) error) error {
	id, err := id(c, "refit")
	if err != nil {
		return err
	}
	here := Root + "/refits/" + id.String()
	err = do(id)
	if e, ok := errors.AsType[*service.Error](err); ok &&
		(e.Code == service.CodeWrongState || e.Code == service.CodeRefitConflict) {
		return r.done(c, here, "Not done: %s The page shows the refit as it is now.", sentence(e.Detail))
	}
	if err != nil {
		return err
	}
	return r.done(c, here, "%s", notice)
}
