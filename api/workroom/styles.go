package workroom

import (
	"cmp"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/styles"
)

func (r *Room) registerStyles(g *echo.Group) {
	g.GET("/styles", r.signedIn(r.styles))
	g.GET("/styles/:style", r.signedIn(r.style))
	g.GET("/styles/:style/picture.svg", r.signedIn(r.stylePicture))
	g.POST("/styles/:style/revisions/:number/prove", r.signedIn(r.prove))
	g.POST("/styles/:style/revisions/:number/publish", r.signedIn(r.publish))
	g.POST("/styles/:style/revisions/:number/retire", r.signedIn(r.retire))
	g.GET("/proofs/:proof", r.signedIn(r.proof))
	g.GET("/proofs/:proof/picture.svg", r.signedIn(r.proofPicture))
	g.POST("/proofs/:proof/cancel", r.signedIn(r.cancelProof))
}

func styleAddress(slug string) string { return Root + "/styles/" + url.PathEscape(slug) }

// stylesView lists the shop's own styles and those of the program.
type stylesView struct{ Own, BuiltIn []styles.Listing }

func (r *Room) styles(c echo.Context, s access.Session) error {
	list, err := r.service.Styles.List(c.Request().Context(), s.Caller)
	if err != nil {
		return err
	}
	var v stylesView
	for _, l := range list {
		if l.Origin == styles.Own {
			v.Own = append(v.Own, l)
		} else {
			v.BuiltIn = append(v.BuiltIn, l)
		}
	}
	return r.show(c, http.StatusOK, "styles", &s, v)
}

// styleView holds the data of the page of a style: one revision of it.
type styleView struct {
	styles.Detail
	Number int // the revision shown; 0 for a style of the program
	Latest int
	Proofs []styles.Proof
	Ask    *styles.Report // of the proof whose faults must be confirmed before publishing; nil otherwise
}

// Published returns the number of the published revision, 0 if there is none.
func (v styleView) Published() int {
	for _, revision := range v.Revisions {
		if revision.Status == styles.Published {
			return revision.Number
		}
	}
	return 0
}

// latestStatus returns the state of the latest revision.
func (v styleView) latestStatus() string {
	if len(v.Revisions) == 0 {
		return ""
	}
	return string(v.Revisions[0].Status)
}

// Drawn reports whether there is a picture: the upload found that it drafts.
func (v styleView) Drawn() bool {
	return v.Revision == nil || !slices.ContainsFunc(v.Revision.Warnings, func(w styles.Warning) bool {
		return w.Rule == "not_drafted"
	})
}

// Can reports whether the revision takes an act now. Publish is offered for a draft
// too, and then refused with the reason.
func (v styleView) Can(act string) bool {
	if v.Revision == nil {
		return false
	}
	status := v.Revision.Status
	switch act {
	case "prove":
		return status != styles.Retired
	case "publish":
		return status == styles.Draft || status == styles.Proved
	case "retire":
		return status != styles.Retired
	}
	return false
}

// revisionNumber reads the number of a revision from a text; 0 if it is none.
func revisionNumber(text string) int {
	n, _ := strconv.Atoi(text)
	return max(0, n)
}

func (r *Room) styleView(c echo.Context, s access.Session, slug string, number int) (v styleView, err error) {
	ctx := c.Request().Context()
	if v.Detail, err = r.service.Styles.Style(ctx, s.Caller, slug, "cm"); err != nil {
		return v, err
	}
	if v.Origin == styles.BuiltIn {
		return v, nil
	}
	all := v.Revisions
	v.Latest = all[0].Number
	if number > 0 {
		if v.Detail, err = r.service.Styles.Revision(ctx, s.Caller, slug, number, "cm"); err != nil {
			return v, err
		}
		v.Revisions = all
	}
	v.Number = v.Revision.Number
	v.Proofs, err = r.service.Styles.Proofs(ctx, s.Caller, slug, v.Number)
	return v, err
}

func (r *Room) style(c echo.Context, s access.Session) error {
	v, err := r.styleView(c, s, c.Param("style"), revisionNumber(c.QueryParam("revision")))
	if err != nil {
		return err
	}
	if c.QueryParam("ask") == "publish" {
		v.Ask = v.faultyReport()
	}
	return r.show(c, http.StatusOK, "style", &s, v)
}

// faultyReport returns the report of the proof that proved the revision, if drafts of
// it have faults; nil otherwise.
func (v styleView) faultyReport() *styles.Report {
	if v.Revision == nil || v.Revision.Status != styles.Proved {
		return nil
	}
	for _, p := range v.Proofs {
		if p.ID == *v.Revision.ProofID && p.Report != nil && p.Report.Faulty > 0 {
			return p.Report
		}
	}
	return nil
}

// script returns the script of a revision; number 0 is the one that the page of the
// style shows.
func (r *Room) script(c echo.Context, s access.Session, slug string, number int) (string, error) {
	ctx := c.Request().Context()
	if number == 0 {
		v, err := r.styleView(c, s, slug, 0)
		if err != nil {
			return "", err
		}
		number = v.Number
	}
	return r.service.Styles.Script(ctx, s.Caller, slug, number)
}

// stylePicture draws a revision on a body of the panel.
func (r *Room) stylePicture(c echo.Context, s access.Session) error {
	script, err := r.script(c, s, c.Param("style"), revisionNumber(c.QueryParam("revision")))
	if err != nil {
		return err
	}
	tried, err := r.service.Styles.Try(c.Request().Context(), s.Caller, styles.Trial{Script: script,
		Body: c.QueryParam("body"), Variant: c.QueryParam("variant")})
	if err != nil {
		return err
	}
	if tried.Problem != nil {
		return service.Refuse(service.CodeNotFound, "the style is not drafted on this body")
	}
	return c.Blob(http.StatusOK, "image/svg+xml", tried.Picture)
}

// onRevision does something to the revision of the path and leads to a page with a
// notice. What cannot be done is said on the revision's page.
func (r *Room) onRevision(
	c echo.Context, notice, refused string, do func(slug string, number int) (to string, err error),
) error {
	slug, number := c.Param("style"), revisionNumber(c.Param("number"))
	if number == 0 {
		return service.NotFound("style revision")
	}
	to, err := do(slug, number)
	here := styleAddress(slug) + "?revision=" + strconv.Itoa(number)
	e, ok := errors.AsType[*service.Error](err)
	if ok && e.Code == service.CodeFaultsUnconfirmed {
		return c.Redirect(http.StatusSeeOther, here+"&ask=publish")
	}
	if ok && e.Code != service.CodeNotFound {
		return r.done(c, here, "%s: %s", refused, sentence(cmp.Or(e.Detail, e.Faults.Error())))
	}
	if err != nil {
		return err
	}
	return r.done(c, cmp.Or(to, here), "%s", notice)
}

// publish publishes a revision. Where drafts of its proof have faults it first asks,
// and the form of that question sends their number.
func (r *Room) publish(c echo.Context, s access.Session) error {
	return r.onRevision(c, "Published. It takes orders from now on.", "Not published",
		func(slug string, number int) (string, error) {
			faulty, _ := strconv.Atoi(c.FormValue("faulty"))
			_, err := r.service.Styles.Publish(c.Request().Context(), s.Caller, slug, number, faulty)
			return "", err
		})
}

func (r *Room) retire(c echo.Context, s access.Session) error {
	return r.onRevision(c, "Retired. It takes no new orders; those drafted with it keep it.", "Not retired",
		func(slug string, number int) (string, error) {
			_, err := r.service.Styles.Retire(c.Request().Context(), s.Caller, slug, number)
			return "", err
		})
}

// prove starts a proof and leads to its page.
func (r *Room) prove(c echo.Context, s access.Session) error {
	bodies := styles.Bodies(c.FormValue("bodies"))
	if !slices.Contains([]styles.Bodies{styles.Panel, styles.Customers, styles.File}, bodies) {
		return service.NotFound("choice of bodies")
	}
	return r.onRevision(c, "The proof has been started.", "No proof was started",
		func(slug string, number int) (string, error) {
			started, err := r.service.Styles.StartProof(c.Request().Context(), s.Caller, slug, number,
				styles.ProofRequest{Bodies: bodies, CSV: strings.TrimSpace(c.FormValue("csv")), Worn: wornSample(c)})
			return Root + "/proofs/" + started.ID.String(), err
		})
}

// wornSample reads how many bodies are to be tried on; nil if none are.
func wornSample(c echo.Context) *styles.Worn {
	if c.FormValue("worn") == "" {
		return nil
	}
	n, err := strconv.Atoi(c.FormValue("sample"))
	if err != nil {
		return &styles.Worn{Cures: true}
	}
	return &styles.Worn{Sample: min(max(1, n), styles.MaxSample), Cures: true}
}

// proofView holds the data of the page of a proof.
type proofView struct {
	styles.Proof
	Revision styles.Revision
	Pictures []proofFigure
	Rows     []styles.VariantReport // the variants that did not draft clean everywhere, first; at most maxVariants
	More     int                    // variants not among them
}

// maxVariants is the number of variants that the page of a proof lists at once.
const maxVariants = 12

// proofFigure is a draft worth looking at.
type proofFigure struct {
	styles.DraftName
	Why string
}

// TriedOn returns the latest proof whose drafts were tried on; nil for none.
func (v styleView) TriedOn() *proofView {
	for _, p := range v.Proofs {
		if p.WornReport != nil {
			return &proofView{Proof: p}
		}
	}
	return nil
}

// Unproved reports whether the revision was never proved; trying on proves nothing.
func (v styleView) Unproved() bool {
	return !slices.ContainsFunc(v.Proofs, func(p styles.Proof) bool { return p.Worn == nil })
}

// Sample is how many bodies are usually tried on.
func (styleView) Sample() int { return styles.UsualSample }

// Open reports whether the proof goes on.
func (v proofView) Open() bool { return v.FinishedAt == nil }

// Percent is how much of the proof is done.
func (v proofView) Percent() int { return 100 * v.Done / max(1, v.Total) }

// At is the address of the place to write with a draft of the proof shown.
func (v proofView) At(where styles.DraftName) string {
	return writeAddress(v.Slug) + "?" + url.Values{"revision": {strconv.Itoa(v.Number)}, "body": {where.Body},
		"variant": {where.Variant}}.Encode()
}

func (v proofView) picture(where styles.DraftName) string {
	return Root + "/proofs/" + v.ID.String() + "/picture.svg?" +
		url.Values{"body": {where.Body}, "variant": {where.Variant}}.Encode()
}

// Picture is the address of the picture of a draft.
func (v proofView) Picture(f proofFigure) string { return v.picture(f.DraftName) }

func (r *Room) proof(c echo.Context, s access.Session) error {
	id, err := id(c, "proof")
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	var v proofView
	if v.Proof, err = r.service.Styles.Proof(ctx, s.Caller, id); err != nil {
		return err
	}
	detail, err := r.service.Styles.Revision(ctx, s.Caller, v.Slug, v.Number, "cm")
	if err != nil {
		return err
	}
	v.Revision = *detail.Revision
	if v.Report != nil {
		v.addReport()
	}
	if isPart(c) {
		return r.showPart(c, "proof", "result", v)
	}
	return r.show(c, http.StatusOK, "proof", &s, v)
}

// addReport chooses from the report what is worth looking at.
func (v *proofView) addReport() {
	rows := slices.Clone(v.Report.Variants)
	slices.SortStableFunc(rows, func(a, b styles.VariantReport) int {
		return cmp.Or(cmp.Compare(b.Failed, a.Failed), cmp.Compare(b.Faulty, a.Faulty), cmp.Compare(b.Refused, a.Refused))
	})
	v.Rows = rows[:min(len(rows), maxVariants)]
	v.More = len(rows) - len(v.Rows)
	if v.Bodies != styles.Panel {
		return
	}
	add := func(where styles.DraftName, why string) {
		if !slices.ContainsFunc(v.Pictures, func(f proofFigure) bool { return f.DraftName == where }) {
			v.Pictures = append(v.Pictures, proofFigure{where, why})
		}
	}
	for _, f := range v.Report.Faults[:min(3, len(v.Report.Faults))] {
		add(f.Where, sentence(f.Reason))
	}
	for _, w := range v.Report.Warnings[:min(2, len(v.Report.Warnings))] {
		add(w.Where, sentence(w.Reason))
	}
	if cloth := v.Report.Cloth; cloth != nil {
		add(cloth.Max.Where, "The most cloth: "+number(cloth.Max.Value)+" m².")
		add(cloth.Min.Where, "The least cloth: "+number(cloth.Min.Value)+" m².")
	}
	if checks := v.Report.Checks; len(checks) > 0 && checks[0].Difference != 0 {
		add(checks[0].Where, "The largest difference from what was wanted: "+words(checks[0].Name)+", "+
			number(checks[0].Difference)+" mm.")
	}
}

func (r *Room) proofPicture(c echo.Context, s access.Session) error {
	id, err := id(c, "proof")
	if err != nil {
		return err
	}
	picture, err := r.service.Styles.DraftPicture(c.Request().Context(), s.Caller, id,
		styles.DraftName{Body: c.QueryParam("body"), Variant: c.QueryParam("variant")})
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, picture.MediaType, picture.Content)
}

func (r *Room) cancelProof(c echo.Context, s access.Session) error {
	id, err := id(c, "proof")
	if err != nil {
		return err
	}
	if _, err := r.service.Styles.CancelProof(c.Request().Context(), s.Caller, id); err != nil {
		return err
	}
	return r.done(c, Root+"/proofs/"+id.String(), "The proof was stopped.")
}
