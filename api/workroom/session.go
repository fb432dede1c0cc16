package workroom

import (
	"encoding/base64"
	"errors"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
)

// Cookie is the name of the cookie that holds a session's token.
const Cookie = "tapeline_session"

// noticeCookie holds one sentence for the next page.
const noticeCookie = "tapeline_notice"

// cookieLasts is longer than any session: the server ends sessions.
const cookieLasts = 24 * time.Hour

func (r *Room) setCookie(c echo.Context, name, value string, lasts time.Duration) {
	c.SetCookie(&http.Cookie{Name: name, Value: value, Path: "/", MaxAge: int(lasts.Seconds()), HttpOnly: true,
		SameSite: http.SameSiteStrictMode, Secure: strings.HasPrefix(r.cfg.PublicURL, "https://")})
}

func (r *Room) dropCookie(c echo.Context, name string) {
	c.SetCookie(&http.Cookie{Name: name, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode,
		Secure: strings.HasPrefix(r.cfg.PublicURL, "https://")})
}

func encodeNotice(text string) string { return base64.RawURLEncoding.EncodeToString([]byte(text)) }

// takeNotice returns what the last act has to say, once.
func (r *Room) takeNotice(c echo.Context) string {
	cookie, err := c.Cookie(noticeCookie)
	if err != nil {
		return ""
	}
	r.dropCookie(c, noticeCookie)
	text, err := base64.RawURLEncoding.DecodeString(cookie.Value)
	if err != nil {
		return ""
	}
	return string(text)
}

// session returns the session of a request. It fails with CodeUnauthenticated.
func (r *Room) session(c echo.Context) (access.Session, error) {
	cookie, err := c.Cookie(Cookie)
	if err != nil {
		return access.Session{}, service.Refuse(service.CodeUnauthenticated, "nobody is signed in")
	}
	s, err := r.service.Access.Session(c.Request().Context(), cookie.Value)
	s.Caller.RequestID = r.cfg.RequestID(c)
	return s, err
}

// askToSignIn leads to the page to sign in. A form is not lost: a page whose script sent
// it stays, and a form that was sent as a page goes along and is shown afterwards.
func (r *Room) askToSignIn(c echo.Context) error {
	to := c.Request().URL.RequestURI()
	switch {
	case isPart(c):
		return r.show(c, http.StatusUnauthorized, "problem", nil, problemView{Title: "Your session has ended",
			Detail: "Nothing was changed, and what you typed is still here.", SignIn: true})
	case c.Request().Method != http.MethodGet:
		return r.show(c, http.StatusUnauthorized, "sign-in", nil,
			signInView{To: to, Kept: typedFields(c.Request().PostForm, "")})
	}
	return c.Redirect(http.StatusSeeOther, Root+"/sign-in?to="+url.QueryEscape(to))
}

// signInView holds the data of the page to sign in.
type signInView struct {
	To    string
	Error string
	Kept  []typedField // of a form that was sent without a session
}

// keptPrefix begins the names of the fields that go along while a person signs in.
const keptPrefix = "kept."

// typedField is a field of a form.
type typedField struct{ Name, Value string }

// Label is the field's name for a person; "" if only the program uses it.
func (f typedField) Label() string {
	if slices.Contains([]string{"act", "base", "version", "order", "body", "variant"}, f.Name) || f.Value == "" {
		return ""
	}
	return words(strings.TrimPrefix(f.Name, "m."))
}

// Long reports whether the value has several lines.
func (f typedField) Long() bool { return strings.Contains(f.Value, "\n") }

// typedFields returns the fields of a form whose names begin with a prefix, without it.
func typedFields(form url.Values, prefix string) []typedField {
	var list []typedField
	for _, name := range slices.Sorted(maps.Keys(form)) {
		rest, ok := strings.CutPrefix(name, prefix)
		if !ok {
			continue
		}
		for _, value := range form[name] {
			list = append(list, typedField{rest, value})
		}
	}
	return list
}

// destination returns the page to go to after signing in: one of these pages only.
func destination(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(u.Path, Root+"/") {
		return Root + "/orders"
	}
	return u.RequestURI()
}

func (r *Room) signInPage(c echo.Context) error {
	to := destination(c.QueryParam("to"))
	if _, err := r.session(c); err == nil {
		return c.Redirect(http.StatusSeeOther, to)
	}
	return r.show(c, http.StatusOK, "sign-in", nil, signInView{To: to})
}

func (r *Room) signIn(c echo.Context) error {
	to := destination(c.FormValue("to"))
	kept := typedFields(c.Request().PostForm, keptPrefix)
	token, _, err := r.service.Access.SignIn(c.Request().Context(), strings.TrimSpace(c.FormValue("key")))
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeUnauthenticated {
		if !r.cfg.Limits.AllowGuess(r.cfg.Address(c)) {
			return r.show(c, http.StatusTooManyRequests, "sign-in", nil, signInView{To: to, Kept: kept,
				Error: "Too many attempts. Wait a moment and try again."})
		}
		return r.show(c, http.StatusUnauthorized, "sign-in", nil, signInView{To: to, Kept: kept,
			Error: sentence(e.Detail)})
	}
	if err != nil {
		return err
	}
	r.setCookie(c, Cookie, token, cookieLasts)
	if len(kept) > 0 {
		s, err := r.service.Access.Session(c.Request().Context(), token)
		if err != nil {
			return err
		}
		return r.show(c, http.StatusOK, "kept", &s, signInView{To: to, Kept: kept})
	}
	return c.Redirect(http.StatusSeeOther, to)
}

func (r *Room) signOut(c echo.Context) error {
	if cookie, err := c.Cookie(Cookie); err == nil {
		if err := r.service.Access.SignOut(c.Request().Context(), cookie.Value); err != nil {
			return err
		}
	}
	r.dropCookie(c, Cookie)
	return c.Redirect(http.StatusSeeOther, Root+"/sign-in")
}
