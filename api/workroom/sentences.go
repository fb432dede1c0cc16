package workroom

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/styles"
)

func (r *Room) registerSentences(g *echo.Group) {
	g.POST("/try/sentences", r.signedIn(r.trySentences))
	g.POST("/try/open", r.signedIn(r.tryOpen))
	g.POST("/try/offers", r.signedIn(r.tryOffers))
}

// work is a script on the page to write: its sentences, and what it makes.
type work struct {
	Script string
	Unit   styles.Unit
	Column column
	Tried  triedScript
	Adding *adding
	Faults []string // why an edit was not made

	read *styles.Sentences // nil if the script cannot be read
}

// Units are those that the page can show lengths in.
func (w work) Units() []styles.Unit { return styles.Units() }

// unitOf reads the unit of the page from a form or the query.
func unitOf(c echo.Context) styles.Unit {
	if c.FormValue("unit") == "inch" {
		return "inch"
	}
	return "cm"
}

// scriptOf reads the script of a form.
func scriptOf(c echo.Context) string { return strings.ReplaceAll(c.FormValue("script"), "\r\n", "\n") }

// actFields returns the fields of a form, those of the button that was pressed among
// them.
func actFields(c echo.Context) url.Values {
	form := url.Values{}
	for name, values := range c.Request().Form {
		form[name] = values
	}
	for _, button := range []string{"edit", "offer"} {
		more, err := url.ParseQuery(form.Get(button))
		if err != nil {
			continue
		}
		for name, values := range more {
			form[name] = values
		}
	}
	return form
}

// isEdit reports whether a form changes the script by a sentence.
func isEdit(form url.Values) bool {
	act := form.Get("act")
	return act != "" && act != "save" && act != "prove" && act != "show"
}

// work makes the edit of a form, if it has one, and drafts the script.
func (r *Room) work(c echo.Context, s access.Session, script string, form url.Values) (work, error) {
	w := work{Script: script, Unit: unitOf(c)}
	var unread *styles.Problem
	if w.read, unread = styles.ReadSentences(script, w.Unit); unread != nil {
		w.Column.Unread = unread
	}
	if isEdit(form) {
		if err := r.change(c, s, &w, form); err != nil {
			return w, err
		}
	}
	if len(w.Faults) > 0 && isPart(c) {
		return w, nil
	}
	return w, r.draft(c, s, &w, form)
}

// change makes the edit of a form, or notes why it cannot be made.
func (r *Room) change(c echo.Context, s access.Session, w *work, form url.Values) error {
	if w.read == nil {
		w.Faults = []string{"The script cannot be read: " + sentence(w.Column.Unread.Reason)}
		return nil
	}
	e, faults := readEdit(form, w.read, w.Unit)
	if faults != nil {
		w.refuse(faults)
		return nil
	}
	changed, p, err := r.service.Styles.ChangeSentences(c.Request().Context(), s.Caller, w.Script, e)
	if err != nil {
		return err
	}
	if p != nil {
		w.refuse(append(service.Faults{{Accepted: p.Reason}}, p.Faults...))
		return nil
	}
	w.Script = changed
	if w.read, w.Column.Unread = styles.ReadSentences(changed, w.Unit); w.read == nil {
		w.Faults = []string{sentence(w.Column.Unread.Reason)}
	}
	return nil
}

// refuse notes the faults of an edit.
func (w *work) refuse(faults service.Faults) {
	for _, f := range faults {
		if f.Accepted == "" {
			continue
		}
		text := f.Accepted
		if f.Field != "" {
			text = "want " + text
			if f.Value != "" {
				text = "“" + f.Value + "”: " + text
			}
		}
		w.Faults = append(w.Faults, sentence(text))
	}
}

// draft fills in what the script makes, and its sentences.
func (r *Room) draft(c echo.Context, s access.Session, w *work, form url.Values) error {
	tried, err := r.service.Styles.Try(c.Request().Context(), s.Caller, trial(c, w.Script))
	if err != nil {
		return err
	}
	w.Tried = viewTriedScript(tried)
	if w.read == nil {
		return nil
	}
	m := columnMaker{read: w.read, tried: tried, unit: w.Unit}
	if open := form.Get("open"); open != "" && (!isEdit(form) || len(w.Faults) > 0) {
		if m.panel = panelAt(w.read, tried, w.Unit, open); m.panel != nil {
			m.open, m.panel.Faults = open, w.Faults
			if len(w.Faults) > 0 {
				refill(m.panel.Ways, form)
			}
		}
	}
	w.Column = m.make()
	if form.Get("offer") != "" {
		w.Adding = addingFor(form, w.read, tried, w.Unit)
		w.Adding.Faults = w.Faults
	}
	return nil
}

// refill puts what was typed into the fields again.
func refill(ways []way, form url.Values) {
	for i := range ways {
		ways[i].Chosen = form.Get(ways[i].Name) == ways[i].Form
		for j := range ways[i].Fields {
			f := &ways[i].Fields[j]
			if form.Has(f.Name) {
				f.Value = form.Get(f.Name)
				for k := range f.Options {
					f.Options[k].Chosen = f.Options[k].Value == f.Value
				}
			}
		}
	}
}

// trySentences makes an edit and answers with the script, its sentences and what it
// makes; or with why the edit cannot be made.
func (r *Room) trySentences(c echo.Context, s access.Session) error {
	form := actFields(c)
	form.Del("open")
	w, err := r.work(c, s, scriptOf(c), form)
	if err != nil {
		return err
	}
	if len(w.Faults) > 0 {
		return r.write(c, http.StatusUnprocessableEntity, "write", "refused", w.Faults)
	}
	return r.showPart(c, "write", "answer", w)
}

// tryOpen is the panel below a sentence.
func (r *Room) tryOpen(c echo.Context, s access.Session) error {
	read, tried, err := r.readAndTry(c, s)
	if err != nil {
		return err
	}
	if read != nil {
		if p := panelAt(read, tried, unitOf(c), c.FormValue("open")); p != nil {
			return r.showPart(c, "write", "panel", p)
		}
	}
	return r.write(c, http.StatusUnprocessableEntity, "write", "refused",
		[]string{"The script has no such sentence now; look at it again."})
}

// tryOffers lists the sentences that can be added, or is the form of one of them.
func (r *Room) tryOffers(c echo.Context, s access.Session) error {
	read, tried, err := r.readAndTry(c, s)
	if err != nil {
		return err
	}
	if read == nil {
		return r.write(c, http.StatusUnprocessableEntity, "write", "refused", []string{"The script cannot be read."})
	}
	return r.showPart(c, "write", "adding", addingFor(actFields(c), read, tried, unitOf(c)))
}

// readAndTry reads and drafts the script of a form. A script that cannot be read is nil.
func (r *Room) readAndTry(c echo.Context, s access.Session) (*styles.Sentences, styles.Tried, error) {
	script := scriptOf(c)
	read, problem := styles.ReadSentences(script, unitOf(c))
	if problem != nil {
		return nil, styles.Tried{}, nil
	}
	tried, err := r.service.Styles.Try(c.Request().Context(), s.Caller, trial(c, script))
	return read, tried, err
}
