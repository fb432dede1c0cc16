package legacy

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/body"
	"tapeline/drafting/cloth"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
)

// LayPlanRequest asks how an order's pattern lies on cloth.
type LayPlanRequest struct {
	Order    uuid.UUID
	Revision int                 // 0: the current one
	Format   string              // json, svg or pdf
	Unit     string              // of the lengths in Cloths and on the picture; "": the order's
	Cloths   map[string][]string // what cloth.ParseOptions reads
	// Has tells whether the caller has the plan with that tag already; nil: never.
	Has func(tag string) bool
}

// LayPlan gives the lay plan of an order's pattern, under the rules of
// PatternFile. Cloth that is described wrongly, or too narrow for a piece, fails
// with CodeInvalidInput.
func (s *Service) LayPlan(ctx context.Context, caller Caller, r LayPlanRequest) (File, error) {
	format, err := render.ParseLayPlanFormat(r.Format)
	if wrong, ok := errors.AsType[fault.Fault](err); ok {
		return File{}, wrongOptions(fault.List{wrong})
	}
	head, err := s.patternHead(ctx, caller, r.Order, r.Revision)
	if err != nil {
		return File{}, err
	}
	revision, err := draftRevision(head.DraftHead)
	if err != nil {
		return File{}, err
	}
	unit := body.Unit(cmp.Or(r.Unit, revision.Spec.Unit))
	options, err := cloth.ParseOptions(r.Cloths, unit)
	if wrong, ok := errors.AsType[fault.List](err); ok {
		return File{}, wrongOptions(wrong)
	}
	f := File{Tag: s.layPlanTag(head.DraftHead, format, unit, options), MediaType: format.MediaType}
	if r.Has != nil && r.Has(f.Tag) {
		return f, nil
	}
	pattern, err := s.pattern(ctx, head.DraftHead)
	if err != nil {
		return File{}, err
	}
	f.Name = fileName(pattern.Label.Reference, "lay-plan") + "." + format.Name
	err = s.onCore(ctx, func() (err error) {
		f.Content, err = laid(ctx, pattern, options, format, unit)
		return err
	})
	return f, err
}

func laid(ctx context.Context, p finish.Pattern, o cloth.Options, format render.LayPlanFormat, unit body.Unit) ([]byte, error) {
	plan, err := cloth.NewPlan(ctx, p, o)
	if wrong, ok := errors.AsType[fault.List](err); ok {
		return nil, wrongOptions(wrong)
	}
	if err != nil {
		return nil, fmt.Errorf("lay the pattern on cloth: %w", err)
	}
	// A search that the caller broke off has not found what it always finds.
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := format.Write(&out, plan, unit); err != nil {
		return nil, fmt.Errorf("write the lay plan: %w", err)
	}
	return out.Bytes(), nil
}

// layPlanTag names a plan by what it is made from, as tag does a file.
func (s *Service) layPlanTag(head db.DraftHead, format render.LayPlanFormat, unit body.Unit, o cloth.Options) string {
	return s.tag(head, fmt.Sprintf("lay plan %s %s", format.Name, unit), o)
}
