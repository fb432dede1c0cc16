package workroom

import (
	"encoding/base64"
	"errors"
	"net/http"
	"net/url"
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

// askToSignIn leads to the page to sign in. A form is not lost: the page that sent
// it says so and stays.
func (r *Room) askToSignIn(c echo.Context) error {
	if isPart(c) || c.Request().Method != http.MethodGet {
		return r.show(c, http.StatusUnauthorized, "problem", nil, problemView{Title: "Your session has ended",
			Detail: "Nothing was changed. Sign in in another tab, come back to the form and send it again.", SignIn: true})
	}
	return c.Redirect(http.StatusSeeOther, Root+"/sign-in?to="+url.QueryEscape(c.Request().URL.RequestURI()))
}

type signInView struct {
	To    string
	Error string
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
	token, _, err := r.service.Access.SignIn(c.Request().Context(), strings.TrimSpace(c.FormValue("key")))
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeUnauthenticated {
		if !r.cfg.Limits.AllowGuess(r.cfg.Address(c)) {
			return r.show(c, http.StatusTooManyRequests, "sign-in", nil, signInView{To: to,
				Error: "Too many attempts. Wait a moment and try again."})
		}
		return r.show(c, http.StatusUnauthorized, "sign-in", nil, signInView{To: to, Error: sentence(e.Detail)})
	}
	if err != nil {
		return err
	}
	r.setCookie(c, Cookie, token, cookieLasts)
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
