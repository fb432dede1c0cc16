package api

import (
	"context"
	"net/http"

	"tapeline/service/fittings"
)

// CreateFitting has a draft tried on.
func (s *Server) CreateFitting(ctx context.Context, r CreateFittingRequestObject) (CreateFittingResponseObject, error) {
	f, err := s.service.Fittings.Create(ctx, callerOf(ctx), fittings.Request{Order: r.OrderID, Revision: r.Body.Revision,
		Detail: fittings.Detail(r.Body.Level), Cures: r.Body.Cures, Cloth: string(r.Body.Cloth)})
	if err != nil {
		return nil, err
	}
	return CreateFitting202JSONResponse{Body: fitting(f),
		Headers: CreateFitting202ResponseHeaders{Location: "/v1/fittings/" + f.ID.String()}}, nil
}

// PreviewFitting tries on without storing.
func (s *Server) PreviewFitting(ctx context.Context, r PreviewFittingRequestObject) (PreviewFittingResponseObject,
	error) {
	b := *r.Body
	if err := checkTogether(b); err != nil {
		return nil, err
	}
	p := fittings.Preview{Order: previewOf(b), Detail: fittings.Detail(r.Params.Level), Cloth: string(r.Params.Cloth)}
	if r.Params.Format != PreviewFittingParamsFormatJSON {
		p.Format = string(r.Params.Format)
	}
	report, picture, err := s.service.Fittings.Preview(ctx, callerOf(ctx), p)
	if err != nil {
		return nil, err
	}
	if p.Format == "" {
		return PreviewFitting200JSONResponse(*fittingReport(report)), nil
	}
	return preview{picture}, nil
}

func (p preview) VisitPreviewFittingResponse(w http.ResponseWriter) error { return p.write(w) }

// ListFittings lists the fittings of an order.
func (s *Server) ListFittings(ctx context.Context, r ListFittingsRequestObject) (ListFittingsResponseObject, error) {
	list, err := s.service.Fittings.OfOrder(ctx, callerOf(ctx), r.OrderID)
	return ListFittings200JSONResponse{Items: each(list, fitting)}, err
}

// GetFitting reads a fitting.
func (s *Server) GetFitting(ctx context.Context, r GetFittingRequestObject) (GetFittingResponseObject, error) {
	f, err := s.service.Fittings.Get(ctx, callerOf(ctx), r.FittingID)
	return GetFitting200JSONResponse(fitting(f)), err
}

// CancelFitting cancels a fitting.
func (s *Server) CancelFitting(ctx context.Context, r CancelFittingRequestObject) (CancelFittingResponseObject, error) {
	f, err := s.service.Fittings.Cancel(ctx, callerOf(ctx), r.FittingID)
	return CancelFitting200JSONResponse(fitting(f)), err
}

// GetFittingPicture draws a fitting.
func (s *Server) GetFittingPicture(
	ctx context.Context, r GetFittingPictureRequestObject,
) (GetFittingPictureResponseObject, error) {
	f, err := s.service.Fittings.Picture(ctx, callerOf(ctx), r.FittingID, string(r.Format), has(r.Params.IfNoneMatch))
	return answer{f}, err
}

func (a answer) VisitGetFittingPictureResponse(w http.ResponseWriter) error { return a.write(w) }

func fitting(f fittings.Fitting) Fitting {
	w := Fitting{ID: f.ID, OrderID: f.OrderID, Revision: f.Revision, Level: FittingLevel(f.Detail),
		Cures: f.Cures, Cloth: FittingCloth(f.Cloth), Automatic: f.Automatic, State: FittingState(f.State),
		Reason: f.Reason, Engine: f.Engine, CreatedBy: deref(f.CreatedBy), CreatedAt: f.CreatedAt,
		StartedAt: deref(f.StartedAt), FinishedAt: deref(f.FinishedAt)}
	if f.Report == nil {
		return w
	}
	w.Report = fittingReport(*f.Report)
	return w
}

func fittingReport(r fittings.Report) *FittingReport {
	return &FittingReport{Settled: r.Settled, Residual: r.Residual, LeftOut: r.LeftOut,
		Cures: each(r.Cures, func(c fittings.Cure) FittingCure {
			return FittingCure{Kind: FittingFindingKind(c.Kind), Place: c.Place, Change: FittingCureChange(c.Change),
				Name: c.Name, BeforeMm: c.Before, AfterMm: c.After, Words: c.Words}
		}),
		Form: FittingForm{Measures: each(r.Form.Measures, func(m fittings.FormMeasure) FittingMeasure {
			return FittingMeasure{Name: m.Name, GivenMm: m.Given, FormMm: m.Form, Estimated: m.Estimated}
		})},
		Levels: each(r.Levels, func(l fittings.Level) FittingGirths {
			return FittingGirths{Name: l.Name, HeightMm: l.Height, BodyGirthMm: l.Body, WornGirthMm: l.Worn, CutGirthMm: l.Cut}
		}),
		Openings: each(r.Openings, func(o fittings.Opening) FittingOpening {
			return FittingOpening{Name: o.Name, Passes: o.Passes, GirthMm: o.Girth, NeededMm: o.Needed}
		}),
		Findings: each(r.Findings, fittingFinding), Remaining: each(r.Remaining, fittingFinding),
	}
}

func fittingFinding(x fittings.Finding) FittingFinding {
	return FittingFinding{Kind: FittingFindingKind(x.Kind), Place: x.Place, Piece: x.Piece, Value: x.Value,
		Unit: FittingFindingUnit(x.Unit), Limit: x.Limit, Words: x.Words}
}
