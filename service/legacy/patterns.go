package legacy

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"tapeline/service/customers"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/document"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
)

// FileRequest asks for one file of an order's pattern.
type FileRequest struct {
	Order    uuid.UUID
	Revision int    // 0: the current one
	Format   string // one of render.Formats
	Options  render.Options
	// Has tells whether the caller has the file with that tag already; nil: never.
	Has func(tag string) bool
}

// File is a pattern file, the same bytes for the same Tag.
type File struct {
	Tag       string // names the bytes
	MediaType string
	Name      string // for saving it
	Content   []byte // nil when the caller has it
}

// PatternFile gives a file of an order's pattern. Without a revision the order
// must be ready, else it fails with CodePatternNotReady; a cancelled order
// fails with CodeOrderCancelled, an erased one with CodeErased.
func (s *Service) PatternFile(ctx context.Context, caller Caller, r FileRequest) (File, error) {
	format, options, err := asked(r.Format, r.Options)
	if err != nil {
		return File{}, err
	}
	r.Options = options
	head, err := s.patternHead(ctx, caller, r.Order, r.Revision)
	if err != nil {
		return File{}, err
	}
	return s.file(ctx, head.DraftHead, format, r)
}

// asked is a format with the options that a caller asks for, filled in.
func asked(format string, o render.Options) (render.Format, render.Options, error) {
	f, err := render.ParseFormat(format)
	if wrong, ok := errors.AsType[fault.Fault](err); ok {
		return f, o, wrongOptions(fault.List{wrong})
	}
	o, err = f.Fill(o)
	if wrong, ok := errors.AsType[fault.List](err); ok {
		return f, o, wrongOptions(wrong)
	}
	return f, o, err
}

func wrongOptions(faults fault.List) *Error {
	return &Error{Code: CodeInvalidInput, Faults: faults, OfFile: true}
}

// patternHead is the draft that may be handed out.
func (s *Service) patternHead(ctx context.Context, caller Caller, id uuid.UUID, revision int) (db.OrderedDraft, error) {
	head, err := s.store.DraftHead(ctx, caller.Shop, id, revision)
	if errors.Is(err, db.ErrNotFound) {
		o, err := s.Order(ctx, caller, id)
		switch {
		case err != nil:
			return db.OrderedDraft{}, err
		case revision > 0:
			return db.OrderedDraft{}, notFound("draft revision")
		}
		return db.OrderedDraft{}, notHandedOut(o.Status)
	}
	switch {
	case err != nil:
		return db.OrderedDraft{}, err
	case head.ErasedAt != nil:
		return db.OrderedDraft{}, customers.Erased()
	case Status(head.Status) == StatusCancelled, revision == 0 && Status(head.Status) != StatusReady:
		return db.OrderedDraft{}, notHandedOut(Status(head.Status))
	}
	return head, nil
}

// notHandedOut says why an order's pattern is not handed out now.
func notHandedOut(status Status) error {
	switch status {
	case StatusCancelled:
		return refuse(CodeOrderCancelled, "a cancelled order's pattern is not handed out")
	case StatusReceived:
		return &Error{Code: CodePatternNotReady, Detail: "the order is waiting to be drafted", RetryAfter: time.Second}
	default:
		return refuse(CodePatternNotReady, "the order is %s", status)
	}
}

// file renders a draft, unless the caller has the file.
func (s *Service) file(ctx context.Context, head db.DraftHead, format render.Format, r FileRequest) (File, error) {
	f := File{Tag: s.tag(head, r.Format, r.Options), MediaType: format.MediaType}
	if r.Has != nil && r.Has(f.Tag) {
		return f, nil
	}
	pattern, err := s.pattern(ctx, head)
	if err != nil {
		return File{}, err
	}
	f.Name = fileName(pattern.Label.Reference, r.Options.Paper) + format.Ending()
	err = s.onCore(ctx, func() (err error) {
		start := time.Now()
		f.Content, err = written(ctx, pattern, format, r.Options)
		s.measure.rendered(format.Name, time.Since(start))
		return err
	})
	return f, err
}

// pattern reads a draft with its label.
func (s *Service) pattern(ctx context.Context, head db.DraftHead) (finish.Pattern, error) {
	if head.ErasedAt != nil || head.Label == nil {
		return finish.Pattern{}, customers.Erased()
	}
	label, err := decodeLabel(head.Label, head.Number)
	if err != nil {
		return finish.Pattern{}, err
	}
	p, ok := s.cache.get(head.Hash)
	if !ok {
		geometry, err := s.geometry(ctx, head)
		if err != nil {
			return finish.Pattern{}, err
		}
		if p, err = decodePattern(geometry); err != nil {
			return finish.Pattern{}, err
		}
		s.cache.put(head.Hash, p)
	}
	p.Label = label
	return p, nil
}

// geometry reads a draft's geometry, which erasure may just have taken.
func (s *Service) geometry(ctx context.Context, head db.DraftHead) ([]byte, error) {
	d, err := s.store.DraftRevision(ctx, head.ShopID, head.OrderID, head.Number)
	if err != nil {
		return nil, orNotFound(err, "draft revision")
	}
	if d.ErasedAt != nil {
		return nil, customers.Erased()
	}
	return d.Geometry, nil
}

func written(ctx context.Context, p finish.Pattern, format render.Format, o render.Options) ([]byte, error) {
	var out bytes.Buffer
	if err := format.Write(ctx, &out, p, o); err != nil {
		if faults, ok := errors.AsType[fault.List](err); ok {
			return nil, wrongOptions(faults)
		}
		return nil, fmt.Errorf("render as %s: %w", format.Name, err)
	}
	return out.Bytes(), nil
}

// tag names a file by all that it is made from: the document, the label, the
// format with its options, and the program.
func (s *Service) tag(head db.DraftHead, format string, options any) string {
	h := sha256.New()
	fmt.Fprintf(h, "%x %d %s %s\n%s\n", head.Hash, head.Number, format, s.cfg.Version, head.Label)
	h.Write(encode(options))
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// fileName is made of the order's reference and the paper, if any, of
// characters that every system takes.
func fileName(reference, paper string) string {
	plain := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_', r == '.':
			return r
		default:
			return '-'
		}
	}, reference)
	return strings.Trim(strings.Trim(plain, "-.")+"-"+paper, "-.")
}

// PageCount is how many sheets a pattern takes on one paper.
type PageCount struct {
	Paper string
	Pages int
}

// PageCounts counts the sheets on every cut size, without making a file.
func (s *Service) PageCounts(ctx context.Context, caller Caller, id uuid.UUID, revision int, o render.Options) ([]PageCount, error) {
	head, err := s.patternHead(ctx, caller, id, revision)
	if err != nil {
		return nil, err
	}
	pattern, err := s.pattern(ctx, head.DraftHead)
	if err != nil {
		return nil, err
	}
	var counts []PageCount
	err = s.onCore(ctx, func() (err error) {
		counts, err = countPages(ctx, pattern, o)
		return err
	})
	return counts, err
}

func countPages(ctx context.Context, p finish.Pattern, o render.Options) ([]PageCount, error) {
	var counts []PageCount
	for _, paper := range sheets.Papers() {
		o.Paper = paper.Name
		sheet, err := o.Sheet()
		if wrong, ok := errors.AsType[fault.List](err); ok {
			return nil, wrongOptions(wrong)
		}
		count, err := sheets.PageCount(ctx, p, sheet)
		if err != nil {
			return nil, fmt.Errorf("lay out on %s: %w", paper.Name, err)
		}
		counts = append(counts, PageCount{paper.Name, count})
	}
	return counts, nil
}

// DraftRevision is a draft as it was proved, without its geometry.
type DraftRevision struct {
	db.DraftHead
	Spec   Spec
	Checks []document.Check // nil once erased
}

// DraftRevisions lists an order's drafts, newest first.
func (s *Service) DraftRevisions(ctx context.Context, caller Caller, id uuid.UUID) ([]DraftRevision, error) {
	if _, err := s.Order(ctx, caller, id); err != nil {
		return nil, err
	}
	heads, err := s.store.DraftHeads(ctx, caller.Shop, id)
	if err != nil {
		return nil, err
	}
	revisions := make([]DraftRevision, len(heads))
	for i, head := range heads {
		if revisions[i], err = draftRevision(head); err != nil {
			return nil, err
		}
	}
	return revisions, nil
}

func draftRevision(head db.DraftHead) (DraftRevision, error) {
	d := DraftRevision{DraftHead: head}
	err := json.Unmarshal(head.Spec, &d.Spec)
	if err == nil && head.Checks != nil {
		err = json.Unmarshal(head.Checks, &d.Checks)
	}
	if err != nil {
		return DraftRevision{}, fmt.Errorf("stored draft %d of order %s: %w", head.Number, head.OrderID, err)
	}
	return d, nil
}

// Preview is what to draft without storing. Of MeasurementSetID and
// Measurements one is given.
type Preview struct {
	MeasurementSetID uuid.UUID
	Measurements     map[string]float64 // in Spec.Unit
	Spec             Spec
	Altered          map[string]any // in Spec.Unit; nil: those kept for the set's customer
}

// PreviewDraft drafts and proves without storing, and gives the geometry or
// another file of it; an SVG is for screens unless it is said otherwise. What
// cannot be drafted fails with CodeInvalidInput.
func (s *Service) PreviewDraft(ctx context.Context, caller Caller, p Preview, name string, o render.Options) (File, error) {
	if name == "svg" && o.For == "" {
		o.For = render.ForScreens
	}
	format, o, err := asked(name, o)
	if err != nil {
		return File{}, err
	}
	measured := Measured{Unit: p.Spec.Unit, Values: p.Measurements}
	alter, err := customers.Alterations{Unit: p.Spec.Unit, Values: p.Altered}.Draftable()
	if err != nil {
		return File{}, err
	}
	if p.MeasurementSetID != uuid.Nil {
		set, err := customers.SetOf(ctx, s.store.Queries, caller, uuid.Nil, p.MeasurementSetID)
		if err != nil {
			return File{}, err
		}
		measured = set.Measurements
		if p.Altered == nil {
			latest, err := customers.LatestAlterations(ctx, s.store.Queries, caller.Shop, set.CustomerID)
			if err == nil {
				alter, err = latest.Draftable()
			}
			if err != nil {
				return File{}, err
			}
		}
	}
	spec, garment, err := s.resolveStyle(ctx, s.store.Queries, caller, p.Spec)
	if err != nil {
		return File{}, err
	}
	var pattern finish.Pattern
	err = s.onCore(ctx, func() (err error) {
		start := time.Now()
		pattern, err = commission{spec, garment, measured, alter, labelled{reference: "preview", revision: 1}}.draft(ctx)
		s.measure.drafted(time.Since(start), err)
		return err
	})
	if u, ok := errors.AsType[*undrafted](err); ok {
		return File{}, invalid(u.faults)
	}
	if err != nil {
		return File{}, err
	}
	f := File{MediaType: format.MediaType}
	err = s.onCore(ctx, func() (err error) {
		f.Content, err = written(ctx, pattern, format, o)
		return err
	})
	return f, err
}
