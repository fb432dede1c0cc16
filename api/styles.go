package api

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"tapeline/service"
	"tapeline/service/styles"
)

// ListStyles lists the styles that can be ordered.
func (s *Server) ListStyles(ctx context.Context, _ ListStylesRequestObject) (ListStylesResponseObject, error) {
	list, err := s.service.Styles.List(ctx, callerOf(ctx))
	return ListStyles200JSONResponse{Items: each(list, func(l styles.Listing) StyleListing {
		return StyleListing{Slug: l.Slug, Title: l.Title, About: l.About, Block: l.Block, Hash: l.Hash,
			Origin: StyleOrigin(l.Origin), Status: StyleStatus(l.Status), Revision: l.Revision, Revisions: l.Revisions}
	})}, err
}

// UploadStyle stores a script as a draft.
func (s *Server) UploadStyle(ctx context.Context, r UploadStyleRequestObject) (UploadStyleResponseObject, error) {
	var script, reason string
	switch {
	case r.TextBody != nil:
		script = *r.TextBody
	case r.JSONBody != nil:
		script, reason = r.JSONBody.Script, r.JSONBody.Reason
	}
	if len(script) > styles.MaxScript {
		return nil, &refusal{code: codeBodyTooLarge,
			detail: fmt.Sprintf("a script of %d bytes; at most %d", len(script), styles.MaxScript)}
	}
	n := styles.NewRevision{Script: script, Reason: reason}
	if base := r.Params.BaseRevision; base != nil {
		n.Base = &styles.Base{Number: *base}
	}
	d, err := s.service.Styles.Upload(ctx, callerOf(ctx), n)
	if err != nil && r.TextBody != nil {
		return nil, atTop(err)
	}
	if err != nil {
		return nil, err
	}
	body := styleRevisionDetail(d)
	return UploadStyle201JSONResponse{Body: body, Headers: UploadStyle201ResponseHeaders{
		Location: fmt.Sprintf("/v1/styles/%s/revisions/%d", body.Revision.Slug, body.Revision.Number)}}, nil
}

// atTop moves all faults to the whole body, which is the script itself.
func atTop(err error) error {
	if e, ok := errors.AsType[*service.Error](err); ok {
		moved := *e
		moved.Faults = slices.Clone(e.Faults)
		for i := range moved.Faults {
			moved.Faults[i].Field = ""
		}
		return &moved
	}
	return err
}

// GetStyle reads a style.
func (s *Server) GetStyle(ctx context.Context, r GetStyleRequestObject) (GetStyleResponseObject, error) {
	d, err := s.service.Styles.Style(ctx, callerOf(ctx), r.Style, styles.Unit(r.Params.Unit))
	if err != nil {
		return nil, err
	}
	out := GetStyle200JSONResponse{Origin: StyleOrigin(d.Origin), Description: styleDescription(d.Description),
		Revisions: each(d.Revisions, styleRevision)}
	if d.Revision != nil {
		out.Revision = d.Revision.Number
	}
	return out, nil
}

// GetStyleForm returns the JSON Schema of an order for a style.
func (s *Server) GetStyleForm(ctx context.Context, r GetStyleFormRequestObject) (GetStyleFormResponseObject, error) {
	form, err := s.service.Styles.Form(ctx, callerOf(ctx), r.Style, r.Params.Revision, styles.Unit(r.Params.Unit))
	return GetStyleForm200JSONResponse(form), err
}

// GetStyleScript reads a script as it was uploaded.
func (s *Server) GetStyleScript(
	ctx context.Context, r GetStyleScriptRequestObject,
) (GetStyleScriptResponseObject, error) {
	script, err := s.service.Styles.Script(ctx, callerOf(ctx), r.Style, r.Params.Revision)
	return GetStyleScript200TextResponse(script), err
}

// GetStyleRevision reads one revision.
func (s *Server) GetStyleRevision(
	ctx context.Context, r GetStyleRevisionRequestObject,
) (GetStyleRevisionResponseObject, error) {
	d, err := s.service.Styles.Revision(ctx, callerOf(ctx), r.Style, r.Number, styles.Unit(r.Params.Unit))
	if err != nil {
		return nil, err
	}
	return GetStyleRevision200JSONResponse(styleRevisionDetail(d)), nil
}

// PublishStyleRevision opens a revision to orders.
func (s *Server) PublishStyleRevision(
	ctx context.Context, r PublishStyleRevisionRequestObject,
) (PublishStyleRevisionResponseObject, error) {
	revision, err := s.service.Styles.Publish(ctx, callerOf(ctx), r.Style, r.Number, r.Params.Faulty)
	return PublishStyleRevision200JSONResponse(styleRevision(revision)), err
}

// RetireStyleRevision closes a revision to new orders.
func (s *Server) RetireStyleRevision(
	ctx context.Context, r RetireStyleRevisionRequestObject,
) (RetireStyleRevisionResponseObject, error) {
	revision, err := s.service.Styles.Retire(ctx, callerOf(ctx), r.Style, r.Number)
	return RetireStyleRevision200JSONResponse(styleRevision(revision)), err
}

func styleRevisionDetail(d styles.Detail) StyleRevisionDetail {
	return StyleRevisionDetail{Revision: styleRevision(*d.Revision), Description: styleDescription(d.Description)}
}

func styleRevision(r styles.Revision) StyleRevision {
	return StyleRevision{Slug: r.Slug, Number: r.Number, Status: StyleStatus(r.Status), Hash: r.Hash, Reason: r.Reason,
		Warnings: each(r.Warnings, func(w styles.Warning) StyleWarning {
			return StyleWarning{Rule: w.Rule, Line: w.Line, Piece: w.Piece, Edge: w.Edge, Detail: w.Detail}
		}),
		ProofID: deref(r.ProofID), CreatedBy: deref(r.CreatedBy), CreatedAt: r.CreatedAt,
		PublishedAt: deref(r.PublishedAt), RetiredAt: deref(r.RetiredAt)}
}

func styleDescription(d styles.Description) StyleDescription {
	name := func(n styles.Measurement) Word { return string(n) }
	return StyleDescription{
		Slug: d.Slug, Title: d.Title, About: d.About, Block: d.Block, Hash: d.Hash, Unit: AnyUnit(d.Unit),
		Requires: each(d.Requires, name), Uses: each(d.Uses, name), Cloths: d.Cloths, Cautions: d.Cautions,
		Allowances: filled(d.Allowances),
		Fits: each(d.Fits, func(f styles.FitDescription) StyleFit {
			return StyleFit{Name: f.Name, Help: f.Help, Ease: filled(f.Ease)}
		}),
		Choices: each(d.Choices, func(c styles.ChoiceDescription) StyleChoice {
			return StyleChoice{Name: c.Name, Kind: StyleChoiceKind(c.Kind), Help: c.Help, Default: c.Default,
				Options: c.Options, Min: c.Min, Max: c.Max, Spares: namesByWord(c.Spares)}
		}),
	}
}

// namesByWord returns lists of measurements by the word of a choice; nil if there
// are none.
func namesByWord[N ~string](lists map[string][]N) map[string][]Word {
	if len(lists) == 0 {
		return nil
	}
	words := make(map[string][]Word, len(lists))
	for word, names := range lists {
		words[word] = each(names, func(n N) Word { return string(n) })
	}
	return words
}
