// Package linkpage serves the pages that a shop's customer opens with a signed link:
// what a download is and how to print it, and a question about the measurements.
// They need no key, set no cookie, run no script, and work on a phone.
package linkpage

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service/app"
	"tapeline/service/patterns"
)

const root = "/customer"

//go:embed templates
var templateFiles embed.FS

//go:embed page.css
var styleSheet []byte

// styleAddress contains a hash of the style sheet, so that browsers keep it for as
// long as they like.
var styleAddress = func() string {
	sum := sha256.Sum256(styleSheet)
	return root + "/" + hex.EncodeToString(sum[:6]) + ".css"
}()

// Pages serves the pages.
type Pages struct {
	service *app.App
	pages   map[string]*template.Template
	origins *http.CrossOriginProtection
}

// New returns the pages of a service. It fails if a template does not parse.
func New(svc *app.App) (*Pages, error) {
	p := &Pages{service: svc, pages: map[string]*template.Template{}, origins: http.NewCrossOriginProtection()}
	functions := template.FuncMap{"style": func() string { return styleAddress },
		"day": func(t time.Time) string { return t.UTC().Format("2 January 2006, 15:04") + " UTC" }}
	for _, name := range []string{"link", "message", "question"} {
		t, err := template.New("").Funcs(functions).ParseFS(templateFiles, "templates/layout.html",
			"templates/"+name+".html")
		if err != nil {
			return nil, fmt.Errorf("parse %s.html: %w", name, err)
		}
		p.pages[name] = t
	}
	return p, nil
}

// Serves reports whether a path is that of a page.
func Serves(path string) bool { return strings.HasPrefix(path, root+"/") }

// Register adds the pages to a server.
func (p *Pages) Register(e *echo.Echo) {
	g := e.Group(root, p.guard)
	e.GET(styleAddress, func(c echo.Context) error {
		c.Response().Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		return c.Blob(http.StatusOK, "text/css; charset=utf-8", styleSheet)
	})
	g.GET("/links/:id", p.link)
	g.GET("/questions/:id", p.question)
	g.POST("/questions/:id", p.answer)
}

// LinkPage returns the address of the page of a download link with its signed query.
func LinkPage(id, query string) string { return root + "/links/" + url.PathEscape(id) + "?" + query }

// policy permits the style sheet and forms, and nothing else.
const policy = "default-src 'none'; style-src 'self'; img-src data:; form-action 'self'; base-uri 'none'; " +
	"frame-ancestors 'none'"

// maxForm is the size of the largest form in bytes.
const maxForm = 32 << 10

// guard sets the headers of a page, limits its form, and refuses what another site
// makes a browser send.
func (p *Pages) guard(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		c.Response().Header().Set("Content-Security-Policy", policy)
		c.Response().Header().Set("X-Robots-Tag", "noindex")
		if err := p.origins.Check(c.Request()); err != nil {
			return p.show(c, http.StatusForbidden, "message", message{Title: "Not sent",
				Detail: "This form was sent from another site.", Next: "Open the shop's link again and answer there."})
		}
		c.Request().Body = http.MaxBytesReader(c.Response(), c.Request().Body, maxForm)
		return next(c)
	}
}

// address reads the signed address of a request. One that cannot be read has no
// valid signature.
func address(c echo.Context) patterns.Address {
	id, _ := uuid.Parse(c.Param("id"))
	expires, _ := strconv.ParseInt(c.QueryParam("expires"), 10, 64)
	return patterns.Address{ID: id, Expires: expires, Signature: c.QueryParam("signature")}
}

// show writes a page.
func (p *Pages) show(c echo.Context, status int, name string, data any) error {
	var out bytes.Buffer
	if err := p.pages[name].ExecuteTemplate(&out, "layout", data); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	return c.HTMLBlob(status, out.Bytes())
}

// message is a page that only says something.
type message struct {
	Shop          string // "" if it is not known
	Title, Detail string
	Next          string // what the customer can do
}

// ShowProblem answers with a page that says what is wrong.
func (p *Pages) ShowProblem(c echo.Context, status int, title, detail string) {
	c.Response().Header().Set("Content-Security-Policy", policy)
	m := message{Title: title, Detail: detail, Next: "Try again in a moment. If it stays so, tell the shop."}
	if err := p.show(c, status, "message", m); err != nil {
		_ = c.String(status, title) // the caller may be gone
	}
}

// words writes a slug or a name with spaces: straight trousers.
func words(name string) string { return strings.NewReplacer("-", " ", "_", " ").Replace(name) }
