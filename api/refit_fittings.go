package api

import (
	"context"
	"net/http"

	"tapeline/service/fittings"
	"tapeline/service/refits"
)

// TryRefitOn has orders of a refit tried on in both drafts.
func (s *Server) TryRefitOn(ctx context.Context, r TryRefitOnRequestObject) (TryRefitOnResponseObject, error) {
	v, err := s.service.Refits.TryOn(ctx, callerOf(ctx), r.RefitID, refits.Wearing{Sample: r.Body.Sample,
		Detail: fittings.Detail(r.Body.Level), Cloth: string(r.Body.Cloth)})
	return TryRefitOn202JSONResponse(refitView(v)), err
}

// CancelRefitFittings cancels the fittings of a refit that are not finished.
func (s *Server) CancelRefitFittings(
	ctx context.Context, r CancelRefitFittingsRequestObject,
) (CancelRefitFittingsResponseObject, error) {
	v, err := s.service.Refits.CancelTryOn(ctx, callerOf(ctx), r.RefitID)
	return CancelRefitFittings200JSONResponse(refitView(v)), err
}

// GetRefitFittingPicture draws an order of a refit in both drafts.
func (s *Server) GetRefitFittingPicture(
	ctx context.Context, r GetRefitFittingPictureRequestObject,
) (GetRefitFittingPictureResponseObject, error) {
	f, err := s.service.Refits.FittingPicture(ctx, callerOf(ctx), r.RefitID, r.OrderID, string(r.Format),
		has(r.Params.IfNoneMatch))
	return answer{f}, err
}

func (a answer) VisitGetRefitFittingPictureResponse(w http.ResponseWriter) error { return a.write(w) }

func refitFittings(f refits.Fittings) *RefitFittings {
	return &RefitFittings{Level: FittingLevel(f.Detail), Cloth: FittingCloth(f.Cloth), States: counts(f.States),
		Orders: each(f.Orders, refitOrder),
		Places: each(f.Places, func(p refits.FittingPlace) RefitFittingPlace {
			return RefitFittingPlace{Effects: counts(p.Effects), Worst: fittingChange(p.Worst), OrderID: p.Order,
				Reference: p.Reference}
		})}
}

// counts returns counts by name.
func counts[K ~string](m map[K]int) map[string]int {
	w := make(map[string]int, len(m))
	for k, n := range m {
		w[string(k)] = n
	}
	return w
}

func refitFitting(f refits.Fitting) *RefitFitting {
	w := &RefitFitting{Level: FittingLevel(f.Detail), Cloth: FittingCloth(f.Cloth), State: FittingState(f.State),
		Reason: f.Reason, Engine: f.Engine, FinishedAt: deref(f.FinishedAt)}
	if f.Before == nil {
		return w
	}
	w.Settled = f.Before.Settled && f.After.Settled
	w.Changes = each(f.Changes, fittingChange)
	w.Girths = each(f.Girths, func(g refits.GirthChange) RefitGirths {
		return RefitGirths{Name: g.Name, BodyMm: g.Body, BeforeMm: g.Before, AfterMm: g.After}
	})
	return w
}

func fittingChange(c refits.FittingChange) FittingChange {
	return FittingChange{Kind: FittingFindingKind(c.Kind), Place: c.Place, Effect: FittingEffect(c.Effect),
		Before: c.Before, After: c.After, Unit: FittingChangeUnit(c.Unit), Limit: c.Limit}
}
