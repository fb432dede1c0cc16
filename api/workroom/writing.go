package workroom

import (
	"cmp"
	"crypto/rand"
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/styles"
)

func (r *Room) registerWrite(g *echo.Group) {
	g.GET("/new-style/write", r.signedIn(r.writePage))
	g.POST("/new-style/write", r.signedIn(r.writeStyle))
	g.GET("/styles/:style/write", r.signedIn(r.writePage))
	g.POST("/styles/:style/write", r.signedIn(r.writeStyle))
	g.GET("/styles/:style/latest", r.signedIn(r.latest))
	g.POST("/try/sizes", r.signedIn(r.trySizes))
	g.GET("/try/words.json", r.signedIn(r.scriptWords))
}

func writeAddress(slug string) string {
	if slug == "" {
		return Root + "/new-style/write"
	}
	return styleAddress(slug) + "/write"
}

// writeView is the place to write a style.
type writeView struct {
	work
	Slug    string // "" for a new style
	Base    int    // the latest revision when the page was made; 0 for a new style
	Status  string // of the latest revision
	Reason  string
	Nonce   string // of the styles that the editor adds
	Title   string
	Action  string
	As      string   // sentences or script
	Unsaved bool     // the form was sent, and not saved
	Refused []string // why it was not saved
	Ahead   int      // the revision that somebody saved meanwhile; 0 for none
	Most    int      // bytes of a script
}

// triedScript is the result of drafting a script.
type triedScript struct {
	styles.Tried
	Names string // pieces and edges, separated by spaces, for completion
}

// Drawing is the picture as part of the page. The program wrote it, and every text
// in it is escaped.
func (v triedScript) Drawing() template.HTML { return template.HTML(v.Picture) } //nolint:gosec // see above

func viewTriedScript(t styles.Tried) triedScript {
	v := triedScript{Tried: t}
	var names []string
	for _, p := range t.Pieces {
		names = append(names, p.Name)
		for _, e := range p.Edges {
			names = append(names, p.Name+"/"+e.Name)
		}
	}
	v.Names = strings.Join(names, " ")
	return v
}

// showWrite writes the place to write with what its script makes. The editor's
// styles carry a nonce, which only this page accepts.
func (r *Room) showWrite(c echo.Context, s access.Session, status int, v writeView) error {
	form := actFields(c)
	var err error
	if v.work, err = r.work(c, s, v.Script, form); err != nil {
		return err
	}
	v.Nonce, v.Action, v.Most = rand.Text(), writeAddress(v.Slug), styles.MaxScript
	v.Unsaved, v.As = c.Request().Method == http.MethodPost, "sentences"
	if form.Get("as") == "script" {
		v.As = "script"
	}
	v.Title = cmp.Or(v.Tried.Title, v.Slug, "A new style")
	c.Response().Header().Set("Content-Security-Policy",
		strings.Replace(policy, "style-src 'self'", "style-src 'self' 'nonce-"+v.Nonce+"'", 1))
	return r.show(c, status, "write", &s, v)
}

// trial reads from the query or the form on which body and in which variant to draft
// a script.
func trial(c echo.Context, script string) styles.Trial {
	return styles.Trial{Script: script, Body: c.FormValue("body"), Variant: c.FormValue("variant"), Origins: true,
		Unit: unitOf(c)}
}

// writePage opens a revision, or the start of a new style, to write on.
func (r *Room) writePage(c echo.Context, s access.Session) error {
	ctx := c.Request().Context()
	v := writeView{Slug: c.Param("style")}
	var err error
	switch v.Slug {
	case "":
		v.Script, err = r.service.Styles.StartFrom(ctx, s.Caller, c.QueryParam("from"), c.QueryParam("title"))
	default:
		var shown styleView
		number := revisionNumber(c.QueryParam("revision"))
		if shown, err = r.styleView(c, s, v.Slug, number); err != nil {
			return err
		}
		if shown.Origin == styles.BuiltIn { // the program's styles are not changed
			return c.Redirect(http.StatusSeeOther, writeAddress("")+"?"+url.Values{"from": {v.Slug}}.Encode())
		}
		if number == 0 {
			number = shown.Latest
		}
		v.Base, v.Status = shown.Latest, shown.latestStatus()
		v.Script, err = r.service.Styles.Script(ctx, s.Caller, v.Slug, number)
	}
	if err != nil {
		return err
	}
	return r.showWrite(c, s, http.StatusOK, v)
}

// writeStyle shows what the script of the form makes, changes it by a sentence, or saves
// it as the next revision, which it may prove. What is not saved stays in the form.
func (r *Room) writeStyle(c echo.Context, s access.Session) error {
	ctx := c.Request().Context()
	v := writeView{Slug: c.Param("style"), Base: revisionNumber(c.FormValue("base")),
		Reason: strings.TrimSpace(c.FormValue("reason"))}
	v.Script = scriptOf(c)
	if v.Slug != "" { // a style of another shop is not there
		shown, err := r.styleView(c, s, v.Slug, 0)
		if err != nil {
			return err
		}
		v.Status = shown.latestStatus()
	}
	act := c.FormValue("act")
	if act != "save" && act != "prove" {
		return r.showWrite(c, s, http.StatusOK, v)
	}
	saved, err := r.service.Styles.Upload(ctx, s.Caller, styles.NewRevision{Script: v.Script,
		Reason: v.Reason, Base: &styles.Base{Slug: v.Slug, Number: v.Base}})
	if e, ok := errors.AsType[*service.Error](err); ok {
		return r.notSaved(c, s, v, e)
	}
	if err != nil {
		return err
	}
	slug, number := saved.Revision.Slug, saved.Revision.Number
	if act == "prove" {
		proof, err := r.service.Styles.StartProof(ctx, s.Caller, slug, number, styles.ProofRequest{Bodies: styles.Panel})
		if err != nil {
			return err
		}
		return r.done(c, Root+"/proofs/"+proof.ID.String(), "Saved as revision %d, a draft, which is being proved.", number)
	}
	query := url.Values{}
	for _, name := range []string{"body", "variant", "unit", "as"} {
		query.Set(name, c.FormValue(name))
	}
	return r.done(c, writeAddress(slug)+"?"+query.Encode(), "Saved as revision %d, a draft.", number)
}

// notSaved shows the form again, with the reason and nothing lost.
func (r *Room) notSaved(c echo.Context, s access.Session, v writeView, e *service.Error) error {
	if e.Detail != "" {
		v.Refused = append(v.Refused, sentence(e.Detail))
	}
	for _, f := range e.Faults {
		text := f.Accepted
		if f.Line > 0 && !strings.Contains(text, "line ") {
			text = "line " + strconv.Itoa(f.Line) + ": " + text
		}
		v.Refused = append(v.Refused, sentence(text))
	}
	status := http.StatusUnprocessableEntity
	if e.Code == service.CodeWrongState && v.Slug != "" {
		status = http.StatusConflict
		latest, err := r.styleView(c, s, v.Slug, 0)
		if err != nil {
			return err
		}
		if latest.Latest != v.Base {
			v.Ahead = latest.Latest
		}
	}
	return r.showWrite(c, s, status, v)
}

// latest tells a person who writes on a style that somebody saved a revision meanwhile.
func (r *Room) latest(c echo.Context, s access.Session) error {
	shown, err := r.styleView(c, s, c.Param("style"), 0)
	if err != nil {
		return err
	}
	base := revisionNumber(c.QueryParam("base"))
	v := ahead{Slug: c.Param("style"), Base: base}
	if len(shown.Revisions) > 0 && shown.Revisions[0].Number > base && base > 0 {
		v.Revision = &shown.Revisions[0]
		v.By, err = r.keyName(c, s, v.Revision.CreatedBy)
	}
	if err != nil {
		return err
	}
	return r.showPart(c, "write", "ahead", v)
}

// ahead is a revision that was saved after the one that a script follows.
type ahead struct {
	Slug     string
	Base     int
	Revision *styles.Revision // nil: there is none
	By       string
}

// keyName returns the name of a key, "" for that of nobody.
func (r *Room) keyName(c echo.Context, s access.Session, id *uuid.UUID) (string, error) {
	if id == nil {
		return "", nil
	}
	keys, err := r.service.Access.Keys(c.Request().Context(), s.Caller)
	for _, k := range keys {
		if k.ID == *id {
			return k.Name, err
		}
	}
	return "", err
}

// trySizes is the part of the page that says which other bodies the script fits.
func (r *Room) trySizes(c echo.Context, s access.Session) error {
	sizes, err := r.service.Styles.TrySizes(c.Request().Context(), s.Caller, trial(c, scriptOf(c)))
	if err != nil {
		return err
	}
	return r.showPart(c, "write", "sizes", sizes)
}

// scriptWords are what the editor completes and explains.
func (r *Room) scriptWords(c echo.Context, _ access.Session) error {
	return c.JSON(http.StatusOK, map[string][]styles.Word{"verbs": styles.Verbs(), "measures": styles.Measures()})
}
