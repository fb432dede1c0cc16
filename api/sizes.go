package api

import (
	"cmp"
	"context"
	"net/http"

	"tapeline/service/patterns"
	"tapeline/service/styles"
)

// GetSizeRun drafts a style over a standard size table.
func (s *Server) GetSizeRun(ctx context.Context, r GetSizeRunRequestObject) (GetSizeRunResponseObject, error) {
	p := r.Params
	return s.sizeRun(ctx, styles.SizesRequest{Slug: r.Style, Revision: p.Revision, Table: string(p.Table), Only: p.Size,
		Input: styles.OrderInput{Unit: defaultUnit, Fit: p.Fit}, Format: string(r.Format), Options: optionsOf(p)})
}

// DraftSizeRun drafts a style over a size table.
func (s *Server) DraftSizeRun(ctx context.Context, r DraftSizeRunRequestObject) (DraftSizeRunResponseObject, error) {
	p, b := r.Params, r.Body
	if err := checkTogether(*b); err != nil {
		return nil, err
	}
	return s.sizeRun(ctx, styles.SizesRequest{Slug: r.Style, Revision: p.Revision, Table: string(b.Table), CSV: b.CSV,
		Only: b.Sizes, Format: string(r.Format), Options: optionsOf(p),
		Input: styles.OrderInput{Unit: cmp.Or(string(b.Unit), defaultUnit), Fit: b.Fit, Choices: b.Choices, Ease: b.Ease,
			Allowances: b.Allowances}})
}

// defaultUnit is the unit of a request that names none.
const defaultUnit = "cm"

func (s *Server) sizeRun(ctx context.Context, r styles.SizesRequest) (preview, error) {
	f, err := s.service.Styles.SizeRun(ctx, callerOf(ctx), r)
	return preview{patterns.File{MediaType: f.MediaType, Name: f.Name, Content: f.Content}}, err
}

func (p preview) VisitGetSizeRunResponse(w http.ResponseWriter) error   { return p.write(w) }
func (p preview) VisitDraftSizeRunResponse(w http.ResponseWriter) error { return p.write(w) }
