package api

import (
	"cmp"
	"context"
	"encoding/hex"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"tapeline/drafting/render"
	service "tapeline/service/legacy"
)

// GetPatternFile gives the pattern as a file.
func (s *Server) GetPatternFile(ctx context.Context, r GetPatternFileRequestObject) (GetPatternFileResponseObject, error) {
	p := r.Params
	f, err := s.service.PatternFile(ctx, callerOf(ctx), service.FileRequest{
		Order: r.OrderID, Revision: p.Revision, Format: string(r.Format), Has: has(p.IfNoneMatch),
		Options: render.Options{Paper: p.Paper, Width: p.Width, Orientation: string(p.Orientation), Overlap: p.Overlap, Margin: p.Margin,
			Layers: layers(p.Layers), For: render.SVGFor(p.For), Text: render.SVGText(p.Text),
			Unit: render.DXFUnit(p.Unit), Folds: render.DXFFolds(p.Folds), Flatten: p.Flatten},
	})
	return answer{f}, err
}

func layers(named Layers) []render.Layer {
	return each(named, func(l Layer) render.Layer { return render.Layer(l) })
}

// GetLayPlan tells what cloth a pattern needs, and how it lies on it.
func (s *Server) GetLayPlan(ctx context.Context, r GetLayPlanRequestObject) (GetLayPlanResponseObject, error) {
	p := r.Params
	f, err := s.service.LayPlan(ctx, callerOf(ctx), service.LayPlanRequest{
		Order: r.OrderID, Revision: p.Revision, Format: string(r.Format), Has: has(p.IfNoneMatch), Unit: string(p.Unit),
		Cloths: map[string][]string{"cloth_width": p.ClothWidth, "selvedge": p.Selvedge, "shrinkage": p.Shrinkage, "nap": p.Nap, "spread": p.Spread},
	})
	return answer{f}, err
}

// FollowLink gives the file of a signed link.
func (s *Server) FollowLink(ctx context.Context, r FollowLinkRequestObject) (FollowLinkResponseObject, error) {
	f, err := s.service.FollowLink(ctx, r.LinkID, r.Params.Expires, r.Params.Signature, has(r.Params.IfNoneMatch))
	return answer{f}, err
}

// answer writes a pattern file, or that the caller has it. The bytes are what
// the service stored or rendered; no generated type comes between.
type answer struct{ service.File }

func (a answer) VisitGetPatternFileResponse(w http.ResponseWriter) error { return a.write(w) }
func (a answer) VisitFollowLinkResponse(w http.ResponseWriter) error     { return a.write(w) }
func (a answer) VisitGetLayPlanResponse(w http.ResponseWriter) error     { return a.write(w) }

func (a answer) write(w http.ResponseWriter) error {
	h := w.Header()
	h.Set("ETag", `"`+a.Tag+`"`)
	h.Set("Cache-Control", "private, no-cache")
	if a.Content == nil {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	h.Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", a.Name))
	h.Set("Content-Type", a.MediaType)
	h.Set("Content-Length", strconv.Itoa(len(a.Content)))
	w.WriteHeader(http.StatusOK)
	_, _ = w.Write(a.Content) // a caller who has gone needs no more of it
	return nil
}

// has tells whether If-None-Match names a tag (RFC 9110 section 13.1.2; weak
// comparison). Commas do not occur in our tags.
func has(ifNoneMatch string) func(string) bool {
	return func(tag string) bool {
		for _, t := range strings.Split(ifNoneMatch, ",") {
			t = strings.TrimPrefix(strings.TrimSpace(t), "W/")
			if t == "*" || t == `"`+tag+`"` {
				return true
			}
		}
		return false
	}
}

// GetPageCounts counts the sheets on every paper.
func (s *Server) GetPageCounts(ctx context.Context, r GetPageCountsRequestObject) (GetPageCountsResponseObject, error) {
	p := r.Params
	counts, err := s.service.PageCounts(ctx, callerOf(ctx), r.OrderID, p.Revision,
		render.Options{Orientation: string(p.Orientation), Overlap: p.Overlap, Margin: p.Margin})
	return GetPageCounts200JSONResponse{Items: each(counts, func(c service.PageCount) PageCount {
		return PageCount{Paper: c.Paper, Pages: c.Pages}
	})}, err
}

// ListDraftRevisions lists an order's drafts.
func (s *Server) ListDraftRevisions(ctx context.Context, r ListDraftRevisionsRequestObject) (ListDraftRevisionsResponseObject, error) {
	revisions, err := s.service.DraftRevisions(ctx, callerOf(ctx), r.OrderID)
	return ListDraftRevisions200JSONResponse{Items: each(revisions, draftRevision)}, err
}

func draftRevision(d service.DraftRevision) DraftRevision {
	w := DraftRevision{
		Number: d.Number, MeasurementSetID: d.MeasurementSetID, AlterationSetID: deref(d.AlterationsID),
		Block: d.Spec.Block, Style: d.Spec.Style, StyleRevision: d.Spec.StyleRevision, StyleHash: d.Spec.StyleHash,
		Fit: d.Spec.Fit, Unit: Unit(d.Spec.Unit),
		Choices: filled(d.Spec.Choices), Ease: filled(d.Spec.Ease), Allowances: filled(d.Spec.Allowances),
		PreviousRevision: deref(d.Parent), Reason: deref(d.Reason), CreatedBy: deref(d.CreatedBy), RefitID: deref(d.RefitID),
		Engine: d.Engine, Hash: hex.EncodeToString(d.Hash), CreatedAt: d.CreatedAt, ErasedAt: deref(d.ErasedAt),
	}
	for _, c := range d.Checks {
		w.Checks = append(w.Checks, Check{Name: c.Name, BodyMm: c.Body, AlterationMm: c.Alteration, EaseMm: c.Ease,
			TargetMm: c.Target, DraftedMm: c.Drafted, DifferenceMm: c.Difference, ToleranceMm: c.Tolerance,
			Estimated: c.Estimated, SpreadMm: c.Spread})
	}
	return w
}

// PreviewDraft drafts without storing.
func (s *Server) PreviewDraft(ctx context.Context, r PreviewDraftRequestObject) (PreviewDraftResponseObject, error) {
	b := *r.Body
	if err := checkTogether(b); err != nil {
		return nil, err
	}
	p := r.Params
	f, err := s.service.PreviewDraft(ctx, callerOf(ctx), service.Preview{
		MeasurementSetID: b.MeasurementSetID, Measurements: b.Measurements, Altered: b.Alterations,
		Spec: service.Spec{Unit: string(b.Unit), Block: blockOf(b.Block, b.Style), Style: b.Style, StyleRevision: b.StyleRevision, Fit: b.Fit, Choices: b.Choices, Ease: b.Ease, Allowances: b.Allowances},
	}, string(p.Format), render.Options{Paper: p.Paper, Width: p.Width, Orientation: string(p.Orientation), Overlap: p.Overlap, Margin: p.Margin,
		Layers: layers(p.Layers), For: render.SVGFor(p.For), Text: render.SVGText(p.Text),
		Unit: render.DXFUnit(p.Unit), Folds: render.DXFFolds(p.Folds), Flatten: p.Flatten})
	return preview{f}, err
}

// preview is what the service drew of a draft, which has no tag: it is not
// kept.
type preview struct{ service.File }

func (p preview) VisitPreviewDraftResponse(w http.ResponseWriter) error    { return p.write(w) }
func (p preview) VisitGetOrderOverlayResponse(w http.ResponseWriter) error { return p.write(w) }
func (p preview) VisitGetProofPictureResponse(w http.ResponseWriter) error { return p.write(w) }
func (p preview) VisitGetRefitOverlayResponse(w http.ResponseWriter) error { return p.write(w) }

func (p preview) write(w http.ResponseWriter) error {
	w.Header().Set("Content-Type", p.MediaType)
	w.WriteHeader(http.StatusOK)
	_, _ = w.Write(p.Content)
	return nil
}

// GetOrderOverlay draws what moved between two drafts.
func (s *Server) GetOrderOverlay(ctx context.Context, r GetOrderOverlayRequestObject) (GetOrderOverlayResponseObject, error) {
	p := r.Params
	f, err := s.service.Overlay(ctx, callerOf(ctx), r.OrderID, p.From, p.To, string(p.Format))
	return preview{f}, err
}

// What NewLink says of a link that names neither its life nor its uses.
const (
	defaultLinkSeconds = 7 * 24 * 60 * 60
	defaultLinkUses    = 5
)

// CreateLink makes a download link.
func (s *Server) CreateLink(ctx context.Context, r CreateLinkRequestObject) (CreateLinkResponseObject, error) {
	b := r.Body
	n := service.NewLink{Order: r.OrderID, Revision: b.Revision, Format: cmp.Or(string(b.Format), "pdf"),
		Lasts: time.Duration(cmp.Or(b.ExpiresIn, defaultLinkSeconds)) * time.Second, MaxUses: cmp.Or(b.MaxUses, defaultLinkUses),
		Options: render.Options{Paper: b.Paper, Width: b.Width, Orientation: string(b.Orientation), Overlap: b.Overlap, Margin: b.Margin,
			Layers: layers(b.Layers), For: render.SVGFor(b.For), Text: render.SVGText(b.Text),
			Unit: render.DXFUnit(b.Unit), Folds: render.DXFFolds(b.Folds), Flatten: b.Flatten}}
	l, url, err := s.service.CreateLink(ctx, callerOf(ctx), n)
	return CreateLink201JSONResponse{Link: link(l), URL: url}, err
}

// ListLinks lists an order's links.
func (s *Server) ListLinks(ctx context.Context, r ListLinksRequestObject) (ListLinksResponseObject, error) {
	links, err := s.service.Links(ctx, callerOf(ctx), r.OrderID)
	return ListLinks200JSONResponse{Items: each(links, link)}, err
}

// RevokeLink ends a link.
func (s *Server) RevokeLink(ctx context.Context, r RevokeLinkRequestObject) (RevokeLinkResponseObject, error) {
	return RevokeLink204Response{}, s.service.RevokeLink(ctx, callerOf(ctx), r.OrderID, r.LinkID)
}

func link(l service.Link) Link {
	o := l.Asked
	return Link{ID: l.ID, Format: FileFormat(l.Format), Revision: l.Revision,
		Paper: o.Paper, Width: o.Width, Orientation: Orientation(o.Orientation), Overlap: o.Overlap, Margin: o.Margin,
		Layers: each(o.Layers, func(l render.Layer) Layer { return Layer(l) }), For: FileFor(o.For), Text: FileText(o.Text),
		Unit: FileUnit(o.Unit), Folds: FileFolds(o.Folds), Flatten: o.Flatten,
		MaxUses: l.MaxUses, Uses: l.Uses,
		CreatedAt: l.CreatedAt, ExpiresAt: l.ExpiresAt, RevokedAt: deref(l.RevokedAt)}
}
