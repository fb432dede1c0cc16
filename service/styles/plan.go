package styles

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
	"tapeline/service"
)

// variants returns the variants in which a revision must be proved, or tried on.
func (s *Service) variants(
	ctx context.Context, row query.ShopStyleRevision, worn bool,
) ([]proof.Variant, *style.Style, error) {
	garment, err := s.Compile(ctx, s.store.Queries, row.Slug, hex.EncodeToString(row.Hash))
	if e, ok := errors.AsType[*ScriptError](err); ok {
		return nil, nil, service.Invalid(e.Faults)
	}
	if err != nil {
		return nil, nil, err
	}
	if worn {
		return proof.Fits(garment.Spec(), proof.Base(row.Slug, garment)), garment, nil
	}
	return proof.Every(garment.Spec(), proof.Base(row.Slug, garment)), garment, nil
}

// requestedBodies returns the bodies of a proof as stored, and their number. The
// panel's are not stored.
func (s *Service) requestedBodies(
	ctx context.Context, caller service.Caller, r ProofRequest, garment *style.Style,
) (json.RawMessage, int, error) {
	switch r.Bodies {
	case File:
		bodies, _, err := proof.ReadCSV(strings.NewReader(r.CSV), nil)
		if err == nil && len(bodies) == 0 {
			err = errors.New("no row of measurements")
		}
		if err != nil {
			return nil, 0, service.Invalid(fault.List{{Code: fault.Format, Field: "/csv",
				Accepted: "CSV with a header of measurement names, in cm: " + err.Error()}})
		}
		return db.JSON(bodies), len(bodies), nil
	case Customers:
		sets, err := s.store.LatestMeasurementSets(ctx,
			query.LatestMeasurementSetsParams{ShopID: caller.Owner(), Limit: maxCustomers})
		if err == nil && len(sets) == 0 {
			err = service.Invalid(fault.List{{Code: fault.Choice, Field: "/bodies", Value: string(r.Bodies),
				Accepted: "panel or file: no customer of this shop has measurements"}})
		}
		return db.JSON(sets), len(sets), err
	}
	return nil, len(proof.Panel(garment.Head.Block, garment.Head.Measures...)), nil
}

// plan returns the plan of a proof with the bodies stored for it.
func (s *Service) plan(ctx context.Context, p query.ShopStyleProof, bodies json.RawMessage) (proof.Plan, error) {
	row, err := s.store.StyleRevision(ctx, query.StyleRevisionParams{ShopID: p.ShopID, Slug: p.Slug, Number: p.Number})
	if err != nil {
		return proof.Plan{}, err
	}
	variants, garment, err := s.variants(ctx, row, p.Worn != nil)
	if err != nil {
		return proof.Plan{}, err
	}
	plan := proof.Plan{Variants: variants}
	switch Bodies(p.Bodies) {
	case File:
		err = json.Unmarshal(bodies, &plan.Bodies)
	case Customers:
		plan.Private = true
		plan.Bodies, err = s.customerBodies(ctx, p.ShopID, bodies)
	default:
		plan.Bodies = proof.Panel(garment.Head.Block, garment.Head.Measures...)
	}
	if err == nil && p.Worn != nil {
		var w Worn
		err = json.Unmarshal(p.Worn, &w)
		plan.Bodies = proof.Sample(plan.Bodies, w.Sample)
	}
	if err != nil {
		return proof.Plan{}, fmt.Errorf("bodies of proof %s: %w", p.ID, err)
	}
	if plan.Len() != p.Total {
		return proof.Plan{}, fmt.Errorf("proof %s has %d drafts in this version, was started with %d",
			p.ID, plan.Len(), p.Total)
	}
	return plan, nil
}

// customerBodies returns the bodies of measurement sets by ID. A set erased
// since the proof started is a body with a fault, and so refused.
func (s *Service) customerBodies(ctx context.Context, shop uuid.UUID, list json.RawMessage) ([]proof.Body, error) {
	var ids []uuid.UUID
	if err := json.Unmarshal(list, &ids); err != nil {
		return nil, err
	}
	rows, err := s.store.MeasurementSetsByID(ctx, query.MeasurementSetsByIDParams{ShopID: shop, Ids: ids})
	if err != nil {
		return nil, err
	}
	byID := make(map[uuid.UUID]query.MeasurementSet, len(rows))
	for _, row := range rows {
		byID[row.ID] = row
	}
	bodies := make([]proof.Body, len(ids))
	for i, id := range ids {
		bodies[i].Name = id.String()
		row, ok := byID[id]
		if !ok || row.ErasedAt != nil {
			bodies[i].Faults = fault.List{{Code: fault.Missing, Field: "/measurements", Accepted: "erased"}}
			continue
		}
		var given map[string]float64
		if err := json.Unmarshal(row.Given, &given); err != nil {
			return nil, fmt.Errorf("measurement set %s: %w", id, err)
		}
		bodies[i].Given = body.Unit(row.Unit).Measures(given)
	}
	return bodies, nil
}
