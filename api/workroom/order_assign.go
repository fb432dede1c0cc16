package workroom

import (
	"errors"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/orders"
)

// assignView is the form of due date, assignee and note.
type assignView struct {
	DueDate, Assignee, Note string
	Was                     orders.Assignment // as the form was filled with it
	Refused                 refusals
}

func newAssignView(a orders.Assignment) assignView {
	return assignView{DueDate: a.DueText(), Assignee: a.Assignee, Note: a.Note, Was: a}
}

// rebase makes an assignment what the form was filled with. What the person did not
// change becomes what it now is.
func (v *assignView) rebase(now orders.Assignment) {
	if v.DueDate == v.Was.DueText() {
		v.DueDate = now.DueText()
	}
	if v.Assignee == v.Was.Assignee {
		v.Assignee = now.Assignee
	}
	if v.Note == v.Was.Note {
		v.Note = now.Note
	}
	v.Was = now
}

// assign saves due date, assignee and note. Of two people who change the same field
// at once the second sees what the first did, and what was typed stays.
func (r *Room) assign(c echo.Context, s access.Session) error {
	id, err := id(c, "order")
	if err != nil {
		return err
	}
	lines := strings.NewReplacer("\r\n", "\n")
	typed := assignView{DueDate: strings.TrimSpace(c.FormValue("due_date")),
		Assignee: strings.TrimSpace(c.FormValue("assignee")),
		Note:     strings.TrimSpace(lines.Replace(c.FormValue("note"))), Refused: refusals{}}
	base := orders.Assignment{Assignee: c.FormValue("was.assignee"), Note: lines.Replace(c.FormValue("was.note"))}
	base.DueDate, _ = orders.ReadDay(c.FormValue("was.due_date"))
	change := orders.Reassignment{Assignee: &typed.Assignee, Note: &typed.Note, Base: &base}
	due, err := orders.ReadDay(typed.DueDate)
	if change.DueDate = &due; err == nil {
		_, err = r.service.Orders.Assign(c.Request().Context(), s.Caller, id, change)
	}
	if err == nil {
		return r.done(c, Root+"/orders/"+id.String(), "Saved.")
	}
	status := http.StatusUnprocessableEntity
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeWrongState {
		status = http.StatusConflict
	}
	if typed.Refused, err = refusalsOf(err); err != nil {
		return err
	}
	v, err := r.orderView(c, s, id)
	if err != nil {
		return err
	}
	if typed.Was = base; status == http.StatusConflict {
		typed.rebase(v.Assignment)
	}
	v.Assign = typed
	return r.show(c, status, "order", &s, v)
}
