package workroom

import (
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/customers"
	"tapeline/service/orders"
)

func (r *Room) registerQuestions(g *echo.Group) {
	g.POST("/orders/:order/confirm", r.signedIn(r.confirm))
	g.POST("/orders/:order/correct", r.signedIn(r.correct))
	g.POST("/orders/:order/ask", r.signedIn(r.ask))
}

// questionView is one number in doubt.
type questionView struct {
	Field, Name   string // JSON pointer and words
	Question      string
	Value         string            // as given, with its unit
	Unit          string            // of the number that may replace it
	Corrections   map[string]string // the numbers that would be right if the explanation holds
	CorrectedText string
}

// addQuestions adds what must be answered before the order is drafted: numbers in
// doubt with what would be right, and other reasons in words.
func (r *Room) addQuestions(c echo.Context, s access.Session, v *orderView) error {
	if v.Reason == "" {
		return nil
	}
	if v.Reason != orders.Implausible {
		v.Reasons = append(v.Reasons, sentence(v.Reason.Detail()))
		for _, f := range v.Faults {
			v.Reasons = append(v.Reasons, sentence(f.Accepted))
		}
		return nil
	}
	set, err := r.service.Customers.Set(c.Request().Context(), s.Caller, v.MeasurementSetID)
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeErased {
		return nil
	}
	if err != nil {
		return err
	}
	for _, f := range v.Faults {
		q := questionView{Field: f.Field, Name: words(last(f.Field)), Question: sentence(f.Accepted), Value: f.Value,
			Unit: set.Unit, Corrections: map[string]string{}}
		for _, finding := range set.Assessment.Findings {
			if finding.Field != f.Field || finding.Corrected == nil {
				continue
			}
			var texts []string
			for _, name := range slices.Sorted(maps.Keys(finding.Corrected)) {
				value := finding.Corrected[name]
				q.Corrections[name] = strconv.FormatFloat(value, 'f', -1, 64)
				texts = append(texts, words(name)+" "+number(value))
			}
			q.CorrectedText = strings.Join(texts, ", ")
		}
		v.Questions = append(v.Questions, q)
	}
	return nil
}

// last returns the last part of a JSON pointer.
func last(pointer string) string { return pointer[strings.LastIndex(pointer, "/")+1:] }

func (r *Room) confirm(c echo.Context, s access.Session) error {
	return r.act(c, "Confirmed.", func(order uuid.UUID) error {
		_, err := r.service.Orders.Confirm(c.Request().Context(), s.Caller, order, uuid.Nil, c.FormValue("reason"))
		return err
	})
}

// correct replaces numbers of an order's measurements: the customer gets the next
// version of them, and the order is drafted to it.
func (r *Room) correct(c echo.Context, s access.Session) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	return r.act(c, "Corrected. The order is being drafted to the new measurements.", func(order uuid.UUID) error {
		ctx := c.Request().Context()
		o, err := r.service.Orders.Get(ctx, s.Caller, order)
		if err != nil {
			return err
		}
		if err := o.Status.Allow(orders.Confirm); err != nil {
			return err
		}
		set, err := r.service.Customers.Set(ctx, s.Caller, o.MeasurementSetID)
		if err != nil {
			return err
		}
		m := customers.Measurements{Unit: set.Unit, Values: maps.Clone(set.Values)}
		if err := readNumbers(form, m.Values); err != nil {
			return err
		}
		next, err := r.service.Customers.AddSet(ctx, s.Caller, o.CustomerID, m)
		if err != nil {
			return err
		}
		_, err = r.service.Orders.Confirm(ctx, s.Caller, order, next.ID, c.FormValue("reason"))
		return err
	})
}

// readNumbers reads the fields of a form whose names begin with "m." into values.
// Empty fields change nothing.
func readNumbers(form map[string][]string, values map[string]float64) error {
	var faults service.Faults
	for _, name := range slices.Sorted(maps.Keys(form)) {
		measurement, ok := strings.CutPrefix(name, "m.")
		text := strings.TrimSpace(strings.ReplaceAll(form[name][0], ",", "."))
		if !ok || text == "" {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			faults = append(faults, service.Fault{Code: "wrong_type", Field: measurement, Value: form[name][0],
				Accepted: "a number such as 74 or 74.5"})
			continue
		}
		values[measurement] = v
	}
	if len(faults) > 0 {
		return service.Invalid(faults)
	}
	return nil
}

// questionLasts is how long a customer can answer.
const questionLasts = 7 * 24 * time.Hour

// ask makes the address at which the customer answers the questions, and shows it.
func (r *Room) ask(c echo.Context, s access.Session) error {
	id, err := id(c, "order")
	if err != nil {
		return err
	}
	here := Root + "/orders/" + id.String()
	address, _, err := r.service.Orders.Ask(c.Request().Context(), s.Caller, id, questionLasts)
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeWrongState {
		return r.done(c, here, "Not done: %s. The page shows the order as it is now.", e.Detail)
	}
	if err != nil {
		return err
	}
	return r.done(c, here, "Send this address to the customer. It takes one answer within a week: %s", address)
}
