package workroom

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
)

//go:embed all:templates
var templateFiles embed.FS

// page is one template with the layout and the parts that pages share. A part that
// a script asks for by itself is a template of the page.
type page struct{ *template.Template }

// view holds the data of every template.
type view struct {
	Session *access.Session // nil: nobody is signed in
	Version string
	Section string // the part of the navigation that the page is in
	Notice  string // what the last act has to say
	Path    string
	Body    any // what the page shows
}

// Test reports whether the page is about a test order or its customer.
func (v view) Test() bool { return v.Session != nil && v.Session.Caller.Test() }

// HasTests reports whether there may be test orders to see.
func (v view) HasTests() bool {
	return v.Session != nil && (v.Test() || v.Session.Caller.TestShop != uuid.Nil)
}

// sections says which part of the navigation a page is in.
var sections = map[string]string{
	"orders": "orders", "order": "orders", "print": "orders", "compare": "orders", "layplan": "orders",
	"fitting": "orders", "test-orders": "orders",
	"customers": "customers", "customer": "customers", "measure": "customers", "erase": "customers",
	"refits": "refits", "refit": "refits", "refit-new": "refits",
	"settings-keys": "settings", "settings-webhooks": "settings", "settings-endpoint": "settings",
	"settings-message": "settings", "settings-rules": "settings", "settings-audit": "settings",
	"styles": "styles", "style": "styles", "proof": "styles", "new-style": "styles", "write": "styles",
	"first-dress": "styles",
}

// parsePages parses each template of a page with those that pages share: layout.html
// and the files whose names begin with an underscore.
func (r *Room) parsePages() (map[string]page, error) {
	shared, err := fs.Glob(templateFiles, "templates/_*.html")
	if err != nil {
		return nil, err
	}
	all, err := fs.Glob(templateFiles, "templates/[a-z]*.html")
	if err != nil {
		return nil, err
	}
	pages := map[string]page{}
	for _, file := range all {
		t, err := template.New("").Funcs(r.functions()).ParseFS(templateFiles, append(shared, file)...)
		if err != nil {
			return nil, fmt.Errorf("parse %s: %w", file, err)
		}
		pages[strings.TrimSuffix(strings.TrimPrefix(file, "templates/"), ".html")] = page{t}
	}
	return pages, nil
}

// show writes a page.
func (r *Room) show(c echo.Context, status int, name string, s *access.Session, body any) error {
	v := view{Session: s, Version: r.cfg.Version, Section: sections[name], Path: c.Request().URL.RequestURI(), Body: body}
	if status == http.StatusOK {
		v.Notice = r.takeNotice(c)
	}
	return r.write(c, status, name, "layout", v)
}

// showPart writes a part of a page.
func (r *Room) showPart(c echo.Context, name, part string, body any) error {
	return r.write(c, http.StatusOK, name, part, body)
}

func (r *Room) write(c echo.Context, status int, name, part string, data any) error {
	var out bytes.Buffer
	if err := r.pages[name].ExecuteTemplate(&out, part, data); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	return c.HTMLBlob(status, out.Bytes())
}

// functions are for the templates.
func (r *Room) functions() template.FuncMap {
	return template.FuncMap{
		"asset":      r.assets.address,
		"words":      words,
		"text":       service.OrZero[string],
		"slug":       func(text string) string { return strings.ReplaceAll(text, " ", "_") },
		"sentence":   sentence,
		"day":        func(t time.Time) string { return t.Format("2 January 2006") },
		"moment":     r.moment,
		"iso":        func(t time.Time) string { return t.UTC().Format(time.RFC3339) },
		"number":     number,
		"tenth":      func(v float64) string { return fmt.Sprintf("%.1f", v) },
		"percent":    func(p float64) string { return fmt.Sprintf("%.0f %%", 100*p) },
		"dict":       dict,
		"add":        func(a, b int) int { return a + b },
		"tail":       last,
		"plain":      func(text string) string { return strings.TrimSuffix(text, ".") },
		"alteration": alteration,
	}
}

// dict makes a map of names and values for a template that takes several.
func dict(pairs ...any) map[string]any {
	m := map[string]any{}
	for i := 0; i+1 < len(pairs); i += 2 {
		m[fmt.Sprint(pairs[i])] = pairs[i+1]
	}
	return m
}

// moment writes a time briefly: the time of day today, the day before that.
func (r *Room) moment(t time.Time) string {
	now := time.Now()
	switch {
	case t.YearDay() == now.YearDay() && t.Year() == now.Year():
		return "today " + t.Format("15:04")
	case t.Year() == now.Year():
		return t.Format("2 Jan 15:04")
	}
	return t.Format("2 Jan 2006")
}

// words writes a name with spaces: bust girth.
func words(name any) string { return strings.ReplaceAll(fmt.Sprint(name), "_", " ") }

// sentence begins a text with a capital letter and ends it with a full stop.
func sentence(text string) string {
	if text == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(text)
	text = string(unicode.ToUpper(first)) + text[size:]
	if !strings.ContainsAny(text[len(text)-1:], ".?!") {
		text += "."
	}
	return text
}

// number writes a number without useless zeros, to at most two decimals.
func number(v float64) string {
	text := fmt.Sprintf("%.2f", v)
	text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	if text == "-0" {
		return "0"
	}
	return text
}

// Problem is an error as it is shown to a person.
type Problem struct {
	Status    int
	Title     string
	Detail    string
	Faults    service.Faults
	RequestID string
}

type problemView struct {
	Title, Detail string
	Faults        service.Faults
	RequestID     string // "" unless the log has more
	SignIn        bool
}

// ShowProblem answers with a page that says what is wrong.
func (r *Room) ShowProblem(c echo.Context, p Problem) {
	v := problemView{Title: p.Title, Detail: sentence(p.Detail), Faults: p.Faults}
	if p.Status >= http.StatusInternalServerError {
		v.RequestID = p.RequestID
	}
	var current *access.Session
	if s, err := r.session(c); err == nil {
		current = &s
	}
	if err := r.show(c, p.Status, "problem", current, v); err != nil {
		_ = c.String(p.Status, p.Title) // the caller may be gone
	}
}

// alteration writes the amount of an alteration, or of those of one side.
func alteration(v any) string {
	switch v := v.(type) {
	case float64:
		return number(v)
	case map[string]any:
		var amounts []string
		for _, name := range slices.Sorted(maps.Keys(v)) {
			amounts = append(amounts, words(name)+" "+alteration(v[name]))
		}
		return strings.Join(amounts, ", ")
	}
	return fmt.Sprint(v)
}
