// Package workroom serves the pages for the people who cut: the queue of orders,
// each order with its pattern, customers, refits, styles and settings. The pages
// are rendered here and work without scripts for reading, printing and simple acts.
//
// A person signs in with a key of role staff or admin. The session's cookie also
// opens the API to the page's own scripts and links, so that a page links a
// pattern's files where the API has them.
package workroom

//go:generate web/vendor.sh

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/app"
)

// Root is the path under which all pages lie.
const Root = "/workroom"

// Limits counts requests, and reports whether one more is allowed.
type Limits interface {
	AllowKey(key, shop uuid.UUID) bool // a request of a session
	AllowGuess(address string) bool    // an attempt to sign in that failed
}

// Config configures a Room.
type Config struct {
	Log       *slog.Logger
	Version   string
	PublicURL string // whether it is https decides whether cookies are for https alone
	Limits    Limits
	Stopping  func() bool // reports whether the server shuts down; pages that follow end then

	// Address returns the address of the peer, RequestID the name of the request in
	// the log.
	Address, RequestID func(echo.Context) string
}

// Room serves the pages.
type Room struct {
	service *app.App
	cfg     Config
	pages   map[string]page
	assets  assets
	cross   *http.CrossOriginProtection
}

// New returns the pages of a service. It fails if a template does not parse.
func New(svc *app.App, cfg Config) (*Room, error) {
	r := &Room{service: svc, cfg: cfg, assets: readAssets(), cross: http.NewCrossOriginProtection()}
	var err error
	r.pages, err = r.parsePages()
	return r, err
}

// Serves reports whether a path is that of a page.
func Serves(path string) bool {
	return path == Root || strings.HasPrefix(path, Root+"/") || path == "/"
}

// Follows reports whether a path is that of an answer that goes on with what happens.
func Follows(path string) bool { return path == Root+"/orders/follow" }

// maxForm is the size of the largest form in bytes: a style's script.
const maxForm = 1 << 20

// Register adds the pages to a server.
func (r *Room) Register(e *echo.Echo) {
	e.GET("/", func(c echo.Context) error { return c.Redirect(http.StatusFound, Root) })
	g := e.Group(Root, r.guard)
	g.GET("", func(c echo.Context) error { return c.Redirect(http.StatusFound, Root+"/orders") })
	g.GET("/assets/:version/*", r.asset)
	g.GET("/sign-in", r.signInPage)
	g.POST("/sign-in", r.signIn)
	g.POST("/sign-out", r.signOut)
	r.registerOrders(g)
	r.registerOrder(g)
	r.registerOrderPages(g)
	r.registerPrint(g)
	r.registerFitting(g)
	r.registerCustomers(g)
	r.registerSettings(g)
	r.registerRefits(g)
	r.registerStyles(g)
	r.registerStart(g)
	r.registerWrite(g)
	r.registerPicking(g)
	r.registerSentences(g)
	r.registerTests(g)
}

// policy permits what the server itself serves, and no script or style in the page.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard sets the headers of a page, limits its form, and refuses what another site
// makes a browser send (OWASP's CSRF Prevention Cheat Sheet: fetch metadata and the
// origin, beside cookies that are SameSite=Strict).
func (r *Room) guard(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Vary", "HX-Request")
		if err := r.cross.Check(c.Request()); err != nil {
			return r.show(c, http.StatusForbidden, "problem", nil, problemView{Title: "Not sent",
				Detail: "This form was sent from another site. Open the page here and send it again."})
		}
		c.Request().Body = http.MaxBytesReader(c.Response(), c.Request().Body, maxForm)
		if _, ok := errors.AsType[*http.MaxBytesError](c.Request().ParseForm()); ok {
			return r.show(c, http.StatusRequestEntityTooLarge, "problem", nil, problemView{Title: "Too large",
				Detail: fmt.Sprintf("A form may have %d MB. Nothing was changed; go back and send less at once.", maxForm>>20)})
		}
		if !storable(c) {
			return r.show(c, http.StatusBadRequest, "problem", nil, problemView{Title: "Not sent",
				Detail: "The address or the form has a character that no text may have. Go back, and type the text again."})
		}
		return next(c)
	}
}

// storable reports whether the path, query and form are text without NUL, which the
// database refuses.
func storable(c echo.Context) bool {
	_ = c.Request().ParseForm() // a form that cannot be read is refused where it is used
	texts := []string{c.Request().URL.Path}
	for name, values := range c.Request().Form {
		texts = append(append(texts, name), values...)
	}
	return !slices.ContainsFunc(texts, func(text string) bool {
		return !utf8.ValidString(text) || strings.ContainsRune(text, 0)
	})
}

// handler serves a page to a person who is signed in.
type handler func(c echo.Context, s access.Session) error

// signedIn finds the session of a request. Without one it leads to the page to sign
// in, and from there back.
func (r *Room) signedIn(next handler) echo.HandlerFunc {
	return func(c echo.Context) error {
		s, err := r.session(c)
		if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeUnauthenticated {
			return r.askToSignIn(c)
		}
		if err != nil {
			return err
		}
		if !r.cfg.Limits.AllowKey(s.Caller.Key, s.Caller.Shop) {
			return r.show(c, http.StatusTooManyRequests, "problem", &s, problemView{Title: "Too many requests",
				Detail: "Wait a moment, then load the page again."})
		}
		s, ok, err := r.sideOf(c, s)
		if err != nil {
			return err
		}
		if !ok {
			return r.show(c, http.StatusForbidden, "problem", &s, problemView{Title: "A test order",
				Detail: "It was made with a test key, and only a test key changes it."})
		}
		return next(c, s)
	}
}

// admin serves a page to admins only.
func (r *Room) admin(next handler) echo.HandlerFunc {
	return r.signedIn(func(c echo.Context, s access.Session) error {
		if s.Caller.Role != service.RoleAdmin {
			return r.show(c, http.StatusForbidden, "problem", &s, problemView{Title: "For admins",
				Detail: "This page is for those who signed in with a key of role admin."})
		}
		return next(c, s)
	})
}

// id reads the ID in a path. Anything other than an ID is not found.
func id(c echo.Context, name string) (uuid.UUID, error) {
	parsed, err := uuid.Parse(c.Param(name))
	if err != nil {
		return uuid.Nil, service.NotFound("page")
	}
	return parsed, nil
}

// after returns the ID that a list continues after, from the query; uuid.Nil
// starts it.
func after(c echo.Context) uuid.UUID {
	parsed, _ := uuid.Parse(c.QueryParam("after"))
	return parsed
}

// rows is the number of rows of a list on a page.
const rows = 50

func pageOf(c echo.Context) service.Page { return service.Page{After: after(c), Limit: rows} }

// done leads to another page after an act, which says there what was done.
func (r *Room) done(c echo.Context, to, notice string, args ...any) error {
	r.setCookie(c, noticeCookie, encodeNotice(fmt.Sprintf(notice, args...)), time.Minute)
	if isPart(c) {
		c.Response().Header().Set("HX-Location", to)
		return c.NoContent(http.StatusNoContent)
	}
	return c.Redirect(http.StatusSeeOther, to)
}

// isPart reports whether a script asks for part of a page.
func isPart(c echo.Context) bool {
	return c.Request().Header.Get("HX-Request") == "true" && c.Request().Header.Get("HX-Boosted") != "true"
}
