package api

import (
	"cmp"
	"context"
	"encoding/hex"
	"fmt"
	"net/http"
	"reflect"
	"strconv"
	"strings"
	"time"

	"tapeline/service/orders"
	"tapeline/service/patterns"
)

// GetPatternFile returns the pattern as a file.
func (s *Server) GetPatternFile(ctx context.Context, r GetPatternFileRequestObject) (GetPatternFileResponseObject,
	error) {
	p := r.Params
	f, err := s.service.Patterns.File(ctx, callerOf(ctx), patterns.FileRequest{
		Order: r.OrderID, Revision: p.Revision, Format: string(r.Format), Has: has(p.IfNoneMatch),
		Options: optionsOf(p),
	})
	return answer{f}, err
}

// GetMakingSheet returns the making sheet by itself.
func (s *Server) GetMakingSheet(ctx context.Context, r GetMakingSheetRequestObject) (GetMakingSheetResponseObject,
	error) {
	p := r.Params
	f, err := s.service.Patterns.File(ctx, callerOf(ctx), patterns.FileRequest{
		Order: r.OrderID, Revision: p.Revision, Format: patterns.MakingSheet, Has: has(p.IfNoneMatch),
		Options: optionsOf(p),
	})
	return answer{f}, err
}

// optionsOf returns the file options among the fields of a request. An option is a
// field of the same name in every request that takes it.
func optionsOf(request any) patterns.Options {
	var o patterns.Options
	copyFields(&o, request)
	return o
}

// copyFields sets the fields that two structs have by the same name, converted to
// the type of the one that to points to.
func copyFields(to, from any) {
	source, target := reflect.ValueOf(from), reflect.ValueOf(to).Elem()
	for i := range target.NumField() {
		value, field := source.FieldByName(target.Type().Field(i).Name), target.Field(i)
		switch {
		case !value.IsValid():
		case value.CanConvert(field.Type()):
			field.Set(value.Convert(field.Type()))
		case value.Kind() == reflect.Slice && field.Kind() == reflect.Slice:
			for j := range value.Len() {
				field.Set(reflect.Append(field, value.Index(j).Convert(field.Type().Elem())))
			}
		}
	}
}

// GetLayPlan returns how a pattern lies on cloth, and how much cloth it needs.
func (s *Server) GetLayPlan(ctx context.Context, r GetLayPlanRequestObject) (GetLayPlanResponseObject, error) {
	p := r.Params
	f, err := s.service.Patterns.LayPlan(ctx, callerOf(ctx), patterns.LayPlanRequest{
		Order: r.OrderID, Revision: p.Revision, Format: string(r.Format), Has: has(p.IfNoneMatch), Unit: string(p.Unit),
		Cloths: map[string][]string{"cloth_width": p.ClothWidth, "selvedge": p.Selvedge, "shrinkage": p.Shrinkage,
			"nap": p.Nap, "spread": p.Spread},
	})
	return answer{f}, err
}

// FollowLink returns the file of a signed link.
func (s *Server) FollowLink(ctx context.Context, r FollowLinkRequestObject) (FollowLinkResponseObject, error) {
	p := r.Params
	f, err := s.service.Patterns.FollowLink(ctx, patterns.Follow{
		Address: patterns.Address{ID: r.LinkID, Expires: p.Expires, Signature: p.Signature},
		Paper:   p.Paper, Look: isHead(ctx), Has: has(p.IfNoneMatch),
	})
	if p.Download {
		return attachment{answer{f}}, err
	}
	return answer{f}, err
}

// attachment is an answer that browsers save instead of showing it.
type attachment struct{ answer }

func (a attachment) VisitFollowLinkResponse(w http.ResponseWriter) error {
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", a.Name))
	return a.write(w)
}

// answer writes a file with its tag, or that the caller has it.
type answer struct{ patterns.File }

func (a answer) VisitGetPatternFileResponse(w http.ResponseWriter) error { return a.write(w) }
func (a answer) VisitGetMakingSheetResponse(w http.ResponseWriter) error { return a.write(w) }
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
	if h.Get("Content-Disposition") == "" {
		h.Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", a.Name))
	}
	h.Set("Content-Type", a.MediaType)
	h.Set("Content-Length", strconv.Itoa(len(a.Content)))
	w.WriteHeader(http.StatusOK)
	_, _ = w.Write(a.Content) // the caller may be gone
	return nil
}

// has returns whether If-None-Match names a tag (RFC 9110 section 13.1.2; weak
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
	counts, err := s.service.Patterns.PageCounts(ctx, callerOf(ctx), r.OrderID, p.Revision,
		optionsOf(p))
	return GetPageCounts200JSONResponse{Items: each(counts, func(c patterns.PageCount) PageCount {
		return PageCount{Paper: c.Paper, Pages: c.Pages}
	})}, err
}

// ListDraftRevisions lists an order's drafts.
func (s *Server) ListDraftRevisions(ctx context.Context,
	r ListDraftRevisionsRequestObject) (ListDraftRevisionsResponseObject, error) {
	revisions, err := s.service.Orders.Revisions(ctx, callerOf(ctx), r.OrderID)
	return ListDraftRevisions200JSONResponse{Items: each(revisions, draftRevision)}, err
}

func draftRevision(d orders.Revision) DraftRevision {
	in := d.Spec.Input()
	w := DraftRevision{
		Number: d.Number, MeasurementSetID: d.MeasurementSetID, AlterationSetID: deref(d.AlterationsID),
		Block: in.Block, Style: in.Style, StyleRevision: d.Spec.StyleRevision, StyleHash: d.Spec.StyleHash,
		Fit: in.Fit, Unit: Unit(in.Unit),
		Choices: filled(in.Choices), Ease: filled(in.Ease), Allowances: filled(in.Allowances),
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
	f, err := s.service.Orders.Preview(ctx, callerOf(ctx), previewOf(b), string(p.Format), optionsOf(p))
	return preview{f}, err
}

func previewOf(b DraftRequest) orders.Preview {
	return orders.Preview{MeasurementSetID: b.MeasurementSetID, StyleRevision: b.StyleRevision,
		Input: orders.Input{Unit: string(b.Unit), Measurements: b.Measurements, Block: b.Block, Style: b.Style, Fit: b.Fit,
			Choices: b.Choices, Ease: b.Ease, Allowances: b.Allowances, Alterations: b.Alterations}}
}

// PrintOrders returns the patterns of several orders.
func (s *Server) PrintOrders(ctx context.Context, r PrintOrdersRequestObject) (PrintOrdersResponseObject, error) {
	b := r.Body
	f, err := s.service.Patterns.Print(ctx, callerOf(ctx), patterns.Print{Orders: b.Orders, Paper: b.Paper,
		Format: cmp.Or(string(b.Format), "pdf")})
	return preview{f}, err
}

// preview writes a file that has no tag, because what it shows is not stored.
type preview struct{ patterns.File }

func (p preview) VisitPreviewDraftResponse(w http.ResponseWriter) error    { return p.write(w) }
func (p preview) VisitPrintOrdersResponse(w http.ResponseWriter) error     { return p.write(w) }
func (p preview) VisitGetOrderOverlayResponse(w http.ResponseWriter) error { return p.write(w) }
func (p preview) VisitGetProofPictureResponse(w http.ResponseWriter) error { return p.write(w) }
func (p preview) VisitGetRefitOverlayResponse(w http.ResponseWriter) error { return p.write(w) }

func (p preview) write(w http.ResponseWriter) error {
	w.Header().Set("Content-Type", p.MediaType)
	if p.Name != "" {
		w.Header().Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", p.Name))
	}
	w.WriteHeader(http.StatusOK)
	_, _ = w.Write(p.Content)
	return nil
}

// GetOrderOverlay draws what moved between two drafts.
func (s *Server) GetOrderOverlay(ctx context.Context, r GetOrderOverlayRequestObject) (GetOrderOverlayResponseObject,
	error) {
	p := r.Params
	f, err := s.service.Patterns.Overlay(ctx, callerOf(ctx), r.OrderID, p.From, p.To, string(p.Format))
	return preview{f}, err
}

// What NewLink says of a link that names neither its life nor its uses.
const (
	defaultLinkSeconds = 7 * 24 * 60 * 60
	defaultLinkUses    = 5
)

// CreateLink creates a download link.
func (s *Server) CreateLink(ctx context.Context, r CreateLinkRequestObject) (CreateLinkResponseObject, error) {
	b := r.Body
	n := patterns.NewLink{Order: r.OrderID, Revision: b.Revision, Format: cmp.Or(string(b.Format), "pdf"),
		Lasts: time.Duration(cmp.Or(b.ExpiresIn, defaultLinkSeconds)) * time.Second, MaxUses: cmp.Or(b.MaxUses,
			defaultLinkUses),
		Options: optionsOf(*b)}
	l, url, err := s.service.Patterns.CreateLink(ctx, callerOf(ctx), n)
	return CreateLink201JSONResponse{Link: link(l), URL: url}, err
}

// ListLinks lists an order's links.
func (s *Server) ListLinks(ctx context.Context, r ListLinksRequestObject) (ListLinksResponseObject, error) {
	links, err := s.service.Patterns.Links(ctx, callerOf(ctx), r.OrderID)
	return ListLinks200JSONResponse{Items: each(links, link)}, err
}

// RevokeLink ends a link.
func (s *Server) RevokeLink(ctx context.Context, r RevokeLinkRequestObject) (RevokeLinkResponseObject, error) {
	return RevokeLink204Response{}, s.service.Patterns.RevokeLink(ctx, callerOf(ctx), r.OrderID, r.LinkID)
}

func link(l patterns.Link) Link {
	w := Link{ID: l.ID, Format: LinkFormat(l.Format), Revision: l.Revision, MaxUses: l.MaxUses, Uses: l.Uses,
		CreatedAt: l.CreatedAt, ExpiresAt: l.ExpiresAt, RevokedAt: deref(l.RevokedAt)}
	copyFields(&w, l.Options)
	return w
}
