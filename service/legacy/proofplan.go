package legacy

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"tapeline/db/query"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// proofVariants are the ways in which a style must be proved.
func (s *Service) proofVariants(ctx context.Context, slug, hash string) ([]proof.Variant, *style.Style, error) {
	garment, err := s.garment(ctx, s.store.Queries, Spec{Style: slug, StyleHash: hash})
	if err != nil {
		return nil, nil, err
	}
	spec, _ := drafting.Find(slug, garment)
	return proof.Every(spec, proof.Base(slug, garment)), garment, nil
}

// proofBodies are what is stored of the bodies, and how many they are.
func (s *Service) proofBodies(ctx context.Context, caller Caller, r ProofRequest, garment *style.Style) (rows json.RawMessage, count int, err error) {
	switch r.Bodies {
	case BodiesFile:
		bodies, _, err := proof.ReadCSV(strings.NewReader(r.CSV), nil)
		if err == nil && len(bodies) == 0 {
			err = errors.New("no row of measurements")
		}
		if err != nil {
			return nil, 0, invalid(fault.List{{Code: fault.Format, Field: "/csv", Accepted: "CSV with a header of measurement names, in cm: " + err.Error()}})
		}
		return encode(bodies), len(bodies), nil
	case BodiesCustomers:
		sets, err := s.store.LatestMeasurementSets(ctx, query.LatestMeasurementSetsParams{ShopID: caller.Shop, Limit: maxCustomers})
		if err == nil && len(sets) == 0 {
			err = invalid(fault.List{{Code: fault.Choice, Field: "/bodies", Value: fault.Shorten(r.Bodies), Accepted: "panel or file: no customer of this shop has measurements"}})
		}
		return encode(sets), len(sets), err
	}
	return nil, len(proof.Panel(garment.Head.Block, garment.Head.Measures...)), nil
}

// proofPlan is what a stored proof drafts.
func (s *Service) proofPlan(ctx context.Context, p db.Proof) (proof.Plan, error) {
	row, err := s.store.StyleRevision(ctx, p.ShopID, p.Slug, p.Number)
	if err != nil {
		return proof.Plan{}, err
	}
	variants, garment, err := s.proofVariants(ctx, p.Slug, hex.EncodeToString(row.Hash))
	if err != nil {
		return proof.Plan{}, err
	}
	plan := proof.Plan{Variants: variants}
	switch p.Bodies {
	case BodiesFile:
		err = json.Unmarshal(p.BodyRows, &plan.Bodies)
	case BodiesCustomers:
		plan.Private = true
		plan.Bodies, err = s.customerBodies(ctx, p)
	default:
		plan.Bodies = proof.Panel(garment.Head.Block, garment.Head.Measures...)
	}
	if err == nil && plan.Len() != p.Total {
		err = fmt.Errorf("proof %s was planned as %d drafts and is now %d", p.ID, p.Total, plan.Len())
	}
	return plan, err
}

// customerBodies reads the measurement sets that a proof names. One that was
// erased meanwhile is refused.
func (s *Service) customerBodies(ctx context.Context, p db.Proof) ([]proof.Body, error) {
	var ids []uuid.UUID
	if err := json.Unmarshal(p.BodyRows, &ids); err != nil {
		return nil, fmt.Errorf("bodies of proof %s: %w", p.ID, err)
	}
	rows, err := s.store.MeasurementSetsByID(ctx, query.MeasurementSetsByIDParams{ShopID: p.ShopID, Ids: ids})
	if err != nil {
		return nil, err
	}
	byID := make(map[uuid.UUID]db.MeasurementSet, len(rows))
	for _, row := range rows {
		byID[row.ID] = row
	}
	bodies := make([]proof.Body, len(ids))
	for i, id := range ids {
		bodies[i] = proof.Body{Name: id.String(), Faults: fault.List{{Code: fault.Missing, Field: "/measurements", Accepted: "erased"}}}
		row, ok := byID[id]
		if !ok || row.ErasedAt != nil {
			continue
		}
		measured := Measured{Unit: row.Unit}
		if err := json.Unmarshal(row.Given, &measured.Values); err != nil {
			return nil, fmt.Errorf("stored measurement set %s: %w", id, err)
		}
		bodies[i].Given, bodies[i].Faults = measured.MM(), nil
	}
	return bodies, nil
}
