package patterns

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/google/uuid"

	"tapeline/drafting/body"
	"tapeline/drafting/cloth"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
	"tapeline/service"
)

// LayPlanRequest asks how an order's pattern lies on cloth.
type LayPlanRequest struct {
	Order    uuid.UUID
	Revision int                 // 0: the current one
	Format   string              // json, svg or pdf
	Cloths   map[string][]string // as cloth.ParseOptions reads them, in Unit
	Unit     string              // of lengths in the request and the plan; "": the order's
	// Has reports whether the caller has the plan of a tag already; nil: never.
	Has func(tag string) bool
}

// LayPlan returns the lay plan of an order's pattern, under the rules of Head.
// Wrong settings of a cloth, and cloth too narrow for a piece, fail with
// CodeInvalidInput, more plans of a shop at once than it may have with
// CodeTooManyAtOnce.
func (s *Service) LayPlan(ctx context.Context, caller service.Caller, r LayPlanRequest) (File, error) {
	format, err := render.ParseLayPlanFormat(r.Format)
	if wrong, ok := errors.AsType[fault.Fault](err); ok {
		return File{}, wrongOptions(fault.List{wrong})
	}
	head, err := s.Head(ctx, caller, r.Order, r.Revision)
	if err != nil {
		return File{}, err
	}
	var order struct{ Unit string }
	if err := json.Unmarshal(head.Spec, &order); err != nil {
		return File{}, fmt.Errorf("stored draft %d of order %s: %w", head.Number, head.OrderID, err)
	}
	unit := body.Unit(cmp.Or(r.Unit, order.Unit))
	options, err := cloth.ParseOptions(r.Cloths, unit)
	if wrong, ok := errors.AsType[fault.List](err); ok {
		return File{}, wrongOptions(wrong)
	}
	f := File{Tag: s.tag(head, fmt.Sprintf("lay plan %s %s", format.Name, unit), options), MediaType: format.MediaType}
	if r.Has != nil && r.Has(f.Tag) {
		return f, nil
	}
	p, err := s.Pattern(ctx, head)
	if err != nil {
		return File{}, err
	}
	f.Name = FileName(p.Label.Reference, "lay-plan") + "." + format.Name
	leave, err := s.layPlans.Enter(caller.Shop)
	if err != nil {
		return File{}, err
	}
	defer leave()
	err = s.onCore(ctx, caller.Shop, func(ctx context.Context) (err error) {
		f.Content, err = layPlan(ctx, p, options, format, unit)
		return err
	})
	return f, err
}

func layPlan(ctx context.Context, p finish.Pattern, o cloth.Options, format render.LayPlanFormat,
	unit body.Unit) ([]byte, error) {
	plan, err := cloth.NewPlan(ctx, p, o)
	if wrong, ok := errors.AsType[fault.List](err); ok {
		return nil, wrongOptions(wrong)
	}
	if err != nil {
		return nil, fmt.Errorf("lay the pattern on cloth: %w", err)
	}
	var out bytes.Buffer
	if err := format.Write(&out, plan, unit); err != nil {
		return nil, fmt.Errorf("write the lay plan: %w", err)
	}
	return out.Bytes(), nil
}

// DrawChange draws what moved from one pattern to another, as svg or pdf. More
// comparisons of a shop at once than it may have fail with CodeTooManyAtOnce.
func (s *Service) DrawChange(ctx context.Context, shop uuid.UUID, was, now finish.Pattern, format string) (File,
	error) {
	f := File{MediaType: "image/svg+xml"}
	write := render.OverlaySVG
	if format == "pdf" {
		f.MediaType, write = "application/pdf", render.OverlayPDF
	}
	leave, err := s.comparisons.Enter(shop)
	if err != nil {
		return File{}, err
	}
	defer leave()
	var out bytes.Buffer
	err = s.onCore(ctx, shop, func(ctx context.Context) error { return write(ctx, &out, was, now) })
	if err != nil {
		return File{}, fmt.Errorf("draw what moved: %w", err)
	}
	f.Content = out.Bytes()
	return f, nil
}

// Overlay draws what moved between two drafts of an order.
func (s *Service) Overlay(ctx context.Context, caller service.Caller, order uuid.UUID, was, now int,
	format string) (File, error) {
	var patterns [2]finish.Pattern
	for i, revision := range [...]int{was, now} {
		head, err := s.Head(ctx, caller, order, revision)
		if err != nil {
			return File{}, err
		}
		if patterns[i], err = s.Pattern(ctx, head); err != nil {
			return File{}, err
		}
	}
	return s.DrawChange(ctx, caller.Shop, patterns[0], patterns[1], format)
}

// MakingPicture returns a picture of the making sheet of a draft, under the rules of
// Head, on A4, or on letter for an order in inches.
func (s *Service) MakingPicture(
	ctx context.Context, caller service.Caller, order uuid.UUID, revision int,
) (File, error) {
	head, err := s.Head(ctx, caller, order, revision)
	if err != nil {
		return File{}, err
	}
	p, err := s.Pattern(ctx, head)
	if err != nil {
		return File{}, err
	}
	var out bytes.Buffer
	err = s.onCore(ctx, caller.Shop, func(ctx context.Context) error {
		return render.MakingSheetSVG(ctx, &out, p.Lettered(), render.MakingPaper(Options{}, p.Label))
	})
	return File{MediaType: "image/svg+xml", Name: FileName(p.Label.Reference, MakingSheet) + ".svg",
		Content: out.Bytes()}, err
}
