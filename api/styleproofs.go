package api

import (
	"context"

	"tapeline/service/patterns"
	"tapeline/service/styles"
)

// StartProof starts a proof of a revision.
func (s *Server) StartProof(ctx context.Context, r StartProofRequestObject) (StartProofResponseObject, error) {
	b := r.Body
	if file := b.Bodies == ProofBodiesFile; file != (b.CSV != "") {
		f := FieldError{Code: FieldErrorCodeExcluded, Pointer: "#/csv", Detail: "only if bodies is file"}
		if file {
			f.Code, f.Detail = FieldErrorCodeMissing, "required if bodies is file"
		}
		return nil, &refusal{code: codeInvalidRequest, errors: []FieldError{f}}
	}
	request := styles.ProofRequest{Bodies: styles.Bodies(b.Bodies), CSV: b.CSV}
	if w := b.Worn; w != nil {
		request.Worn = &styles.Worn{Level: string(w.Level), Cloth: string(w.Cloth), Sample: w.Sample, Cures: w.Cures}
	}
	p, err := s.service.Styles.StartProof(ctx, callerOf(ctx), r.Style, r.Number, request)
	if err != nil {
		return nil, err
	}
	headers := StartProof202ResponseHeaders{Location: "/v1/style-proofs/" + p.ID.String()}
	return StartProof202JSONResponse{Body: styleProof(p), Headers: headers}, nil
}

// ListProofs lists the proofs of a revision.
func (s *Server) ListProofs(ctx context.Context, r ListProofsRequestObject) (ListProofsResponseObject, error) {
	proofs, err := s.service.Styles.Proofs(ctx, callerOf(ctx), r.Style, r.Number)
	return ListProofs200JSONResponse{Items: each(proofs, styleProof)}, err
}

// GetProof reads a proof.
func (s *Server) GetProof(ctx context.Context, r GetProofRequestObject) (GetProofResponseObject, error) {
	p, err := s.service.Styles.Proof(ctx, callerOf(ctx), r.ProofID)
	return GetProof200JSONResponse(styleProof(p)), err
}

// GetProofPicture draws the draft of a proof that took the least or the most
// cloth.
func (s *Server) GetProofPicture(
	ctx context.Context, r GetProofPictureRequestObject,
) (GetProofPictureResponseObject, error) {
	p, err := s.service.Styles.ProofPicture(ctx, callerOf(ctx), r.ProofID, styles.Extreme(r.Params.Of))
	return preview{patterns.File{MediaType: p.MediaType, Content: p.Content}}, err
}

// CancelProof cancels a proof.
func (s *Server) CancelProof(ctx context.Context, r CancelProofRequestObject) (CancelProofResponseObject, error) {
	p, err := s.service.Styles.CancelProof(ctx, callerOf(ctx), r.ProofID)
	return CancelProof200JSONResponse(styleProof(p)), err
}

func styleProof(p styles.Proof) Proof {
	w := Proof{ID: p.ID, Style: p.Slug, Revision: p.Number, Bodies: ProofBodies(p.Bodies), Status: ProofStatus(p.Status),
		Done: p.Done, Total: p.Total, Rate: p.Rate, CreatedBy: deref(p.CreatedBy), CreatedAt: p.CreatedAt,
		StartedAt: deref(p.StartedAt), FinishedAt: deref(p.FinishedAt), Reason: p.Stopped, Engine: p.Engine}
	if p.Report != nil {
		report := proofReport(*p.Report)
		w.Report = &report
	}
	if p.Worn != nil {
		w.Worn = &ProofWorn{Level: FittingLevel(p.Worn.Level), Cloth: FittingCloth(p.Worn.Cloth), Sample: p.Worn.Sample,
			Cures: p.Worn.Cures}
	}
	if p.WornReport != nil {
		w.WornReport = wornReport(*p.WornReport)
	}
	return w
}

func wornReport(r styles.WornReport) *WornReport {
	w := &WornReport{Counts: wornCounts(r.WornCounts), Reasons: proofReasons(r.Reasons),
		Variants: each(r.Variants, func(v styles.WornVariant) WornVariant {
			return WornVariant{Name: v.Name, Counts: wornCounts(v.WornCounts)}
		}),
		Findings: each(r.Findings, wornFinding), Uncured: each(r.Uncured, wornFinding)}
	if r.Residual != nil {
		w.Residual = r.Residual.Value
	}
	return w
}

func wornFinding(f styles.WornFinding) WornFinding {
	return WornFinding{Count: f.Count, Worst: fittingFinding(f.Worst), Draft: ProofDraft(f.Where)}
}

func wornCounts(c styles.WornCounts) WornCounts {
	return WornCounts{Fit: c.Fit, Found: c.Found, Cured: c.Cured, Unsettled: c.Unsettled, Refused: c.Refused,
		Failed: c.Failed}
}

func proofReport(r styles.Report) ProofReport {
	return ProofReport{
		Counts: proofCounts(r.Counts),
		Variants: each(r.Variants, func(v styles.VariantReport) ProofVariant {
			return ProofVariant{Name: v.Name, Counts: proofCounts(v.Counts)}
		}),
		Refusals: proofReasons(r.Refusals), Failures: proofReasons(r.Failures), Warnings: proofReasons(r.Warnings),
		Faults: proofReasons(r.Faults),
		Checks: each(r.Checks, func(c styles.CheckReport) ProofCheck {
			return ProofCheck{Name: c.Name, Difference: c.Difference, Tolerance: c.Tolerance, Draft: ProofDraft(c.Where)}
		}),
		Cloth: proofSpread(r.Cloth), Sheets: proofSpread(r.Sheets),
	}
}

func proofCounts(c styles.Counts) ProofCounts {
	return ProofCounts{Drafted: c.Drafted, Clean: c.Clean(), Faulty: c.Faulty, Refused: c.Refused, Failed: c.Failed}
}

func proofReasons(list []styles.ReasonReport) ProofReasons {
	return each(list, func(r styles.ReasonReport) ProofReason {
		named := append([]styles.DraftName{r.Where}, r.More...)
		return ProofReason{Count: r.Count, Reason: r.Reason,
			Drafts: each(named, func(d styles.DraftName) ProofDraft { return ProofDraft(d) })}
	})
}

func proofSpread(s *styles.SpreadReport) *ProofRange {
	if s == nil {
		return nil
	}
	extreme := func(e styles.ExtremeReport) ProofExtreme {
		return ProofExtreme{Value: e.Value, Draft: ProofDraft(e.Where)}
	}
	return &ProofRange{Mean: s.Mean, Min: extreme(s.Min), Max: extreme(s.Max)}
}
