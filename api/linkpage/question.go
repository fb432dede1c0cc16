package linkpage

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/orders"
)

// questionView holds the data of the page of a question.
type questionView struct {
	orders.Question
	Title   string
	Numbers []numberView
	Action  string
}

// numberView is a number in doubt with what was typed.
type numberView struct {
	orders.Doubtful
	Field string // of the form
	Right bool   // the customer said so
	Typed string
	Unit  string
	Fault string
}

func newQuestionView(c echo.Context, q orders.Question) questionView {
	v := questionView{Question: q, Title: "A question about order " + q.Reference, Action: c.Request().URL.RequestURI()}
	for i, d := range q.Numbers {
		field := strconv.Itoa(i)
		n := numberView{Doubtful: d, Field: field, Typed: c.FormValue("number" + field), Unit: q.Unit}
		n.Right = c.FormValue("answer"+field) == "right"
		if unit := c.FormValue("unit" + field); unit == "cm" || unit == "inch" {
			n.Unit = unit
		}
		v.Numbers = append(v.Numbers, n)
	}
	return v
}

// question asks the customer about the numbers in doubt.
func (p *Pages) question(c echo.Context) error {
	q, err := p.service.Orders.Question(c.Request().Context(), address(c))
	if err != nil {
		return p.unanswerable(c, q.Shop, err)
	}
	return p.show(c, http.StatusOK, "question", newQuestionView(c, q))
}

// answer takes the customer's answer, or shows the form again with its faults.
func (p *Pages) answer(c echo.Context) error {
	ctx := c.Request().Context()
	q, err := p.service.Orders.Question(ctx, address(c))
	if err != nil {
		return p.unanswerable(c, q.Shop, err)
	}
	v := newQuestionView(c, q)
	answer, ok := v.read(c)
	if ok {
		err = p.service.Orders.Answer(ctx, address(c), answer, c.Response().Header().Get(echo.HeaderXRequestID))
		if e, refused := errors.AsType[*service.Error](err); refused && e.Code == service.CodeInvalidInput {
			v.refuse(e.Faults)
			ok = false
		} else if err != nil {
			return p.unanswerable(c, q.Shop, err)
		}
	}
	if !ok {
		return p.show(c, http.StatusUnprocessableEntity, "question", v)
	}
	return p.show(c, http.StatusOK, "message", message{Shop: q.Shop, Title: "Thank you",
		Detail: fmt.Sprintf("Your answer is with %s.", q.Shop), Next: "You need do nothing more. " +
			"The shop will write to you if another number needs a second look."})
}

// read returns the answer in the question's unit. It reports false, with faults in
// the view, if a number is left out or is none.
func (v *questionView) read(c echo.Context) (orders.Answer, bool) {
	answer, ok := orders.Answer{Unit: v.Unit, Corrected: map[string]float64{}}, true
	for i := range v.Numbers {
		n := &v.Numbers[i]
		switch {
		case n.Right:
		case c.FormValue("answer"+n.Field) != "other" || n.Name == "":
			n.Fault, ok = "Choose an answer.", false
		default:
			value, err := strconv.ParseFloat(strings.ReplaceAll(strings.TrimSpace(n.Typed), ",", "."), 64)
			if err != nil || math.IsNaN(value) || math.IsInf(value, 0) {
				n.Fault, ok = "Write a number such as 74 or 74.5.", false
				continue
			}
			if !n.Angle {
				value = inUnit(value, n.Unit, v.Unit)
			}
			answer.Corrected[n.Name] = value
		}
	}
	return answer, ok
}

// inUnit converts a length between cm and inches.
func inUnit(value float64, from, to string) float64 {
	switch {
	case from == to:
		return value
	case to == "inch":
		return value / 2.54
	default:
		return value * 2.54
	}
}

// refuse puts the faults of an answer beside their numbers, or beside the first.
func (v *questionView) refuse(faults service.Faults) {
	for _, f := range faults {
		at := 0
		for i, n := range v.Numbers {
			if n.Name != "" && strings.HasSuffix(f.Field, "/"+n.Name) {
				at = i
			}
		}
		v.Numbers[at].Fault = strings.TrimSpace(v.Numbers[at].Fault + " Not possible: " +
			strings.TrimSuffix(f.Accepted, ".") + ".")
	}
}

// unanswerable says why a question takes no answer.
func (p *Pages) unanswerable(c echo.Context, shop string, err error) error {
	e, ok := errors.AsType[*service.Error](err)
	if !ok {
		return err
	}
	m := message{Shop: shop, Next: fmt.Sprintf("If your answer matters, write it to %s.", shop)}
	switch e.Code {
	case service.CodeLinkUsedUp:
		m.Title, m.Detail = "You have answered", "The question takes one answer."
		m.Next = fmt.Sprintf("If you want to change it, write to %s.", shop)
	case service.CodeLinkExpired:
		m.Title, m.Detail = "This question has expired", "It could be answered for a limited time, which is over."
	case service.CodeWrongState:
		m.Title, m.Detail = "The question is settled", fmt.Sprintf("%s has settled it meanwhile.", shop)
	default:
		known, status := noLink(e.Code, shop)
		if status == 0 {
			return err
		}
		return p.show(c, status, "message", known)
	}
	return p.show(c, http.StatusGone, "message", m)
}
