package patterns

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/maypok86/otter/v2"

	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
	"tapeline/service"
)

// Options are the options of a file of any format.
type Options = render.Options

// Screens is the value of Options.For for an SVG that is shown on screens.
const Screens = render.ForScreens

// MakingSheet is the format of a making sheet by itself.
const MakingSheet = render.MakingSheetName

// FileRequest asks for one file of an order's pattern.
type FileRequest struct {
	Order    uuid.UUID
	Revision int    // 0: the current one
	Format   string // such as pdf
	Options  Options
	// Has reports whether the caller has the file of a tag already; nil: never.
	Has func(tag string) bool
}

// File is a file, the same bytes for the same Tag.
type File struct {
	Tag       string // names the bytes; "" for a file that is not repeatable
	MediaType string
	Name      string // to save it under
	Content   []byte // nil if the caller has it
}

// File returns a file of an order's pattern, under the rules of Head. Wrong
// options fail with CodeInvalidInput.
func (s *Service) File(ctx context.Context, caller service.Caller, r FileRequest) (File, error) {
	format, options, err := ParseOptions(r.Format, r.Options)
	if err != nil {
		return File{}, err
	}
	head, err := s.Head(ctx, caller, r.Order, r.Revision)
	if err != nil {
		return File{}, err
	}
	return s.file(ctx, head, format, options, r.Has)
}

// ParseOptions returns a format with its options filled in. The error is an Error
// with CodeInvalidInput.
func ParseOptions(format string, o Options) (render.Format, Options, error) {
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

func wrongOptions(faults fault.List) *service.Error {
	return &service.Error{Code: service.CodeInvalidInput, Faults: faults, OfFile: true}
}

// file renders a draft, unless the caller has the file.
func (s *Service) file(
	ctx context.Context, head query.DraftHead, format render.Format, o Options, has func(string) bool,
) (File, error) {
	f := File{Tag: s.tag(head, format.Name, o), MediaType: format.MediaType}
	if has != nil && has(f.Tag) {
		return f, nil
	}
	p, err := s.Pattern(ctx, head)
	if err != nil {
		return File{}, err
	}
	part := o.Paper
	if format.Name == MakingSheet {
		part = MakingSheet
	}
	f.Name = FileName(p.Label.Reference, part) + format.Ending()
	f.Content, err = s.Render(ctx, head.ShopID, format, o, func(context.Context) (finish.Pattern, error) {
		p = p.Lettered()
		s.cache.ComputeIfPresent(cacheKey(head.Hash, p.Label), func(c cached) (cached, otter.ComputeOp) {
			c.pattern = p // its next file is not lettered again
			return c, otter.WriteOp
		})
		return p, nil
	})
	return f, err
}

// Render renders a pattern, which it has made or read on the same core.
func (s *Service) Render(ctx context.Context, shop uuid.UUID, format render.Format, o Options,
	pattern func(context.Context) (finish.Pattern, error)) ([]byte, error) {
	var out bytes.Buffer
	err := s.onCore(ctx, shop, func(ctx context.Context) error {
		p, err := pattern(ctx)
		if err != nil {
			return err
		}
		start := time.Now()
		err = format.Write(ctx, &out, p, o)
		s.cfg.Rendered(format.Name, time.Since(start))
		if faults, ok := errors.AsType[fault.List](err); ok {
			return wrongOptions(faults)
		}
		if err != nil {
			return fmt.Errorf("render as %s: %w", format.Name, err)
		}
		return nil
	})
	return out.Bytes(), err
}

// tag names a file by all that it is made from: the document, the label, the
// format with its options, and the program.
func (s *Service) tag(head query.DraftHead, format string, options any) string {
	h := sha256.New()
	fmt.Fprintf(h, "%x %d %s %s\n%s\n", head.Hash, head.Number, format, s.cfg.Version, head.Label)
	_ = json.NewEncoder(h).Encode(options) // strings and finite numbers
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// PageCount is the number of sheets of a paper that a pattern takes.
type PageCount struct {
	Paper string
	Pages int
}

// PageCounts counts the sheets of every cut size, without making a file.
func (s *Service) PageCounts(ctx context.Context, caller service.Caller, order uuid.UUID, revision int,
	o Options) ([]PageCount, error) {
	head, err := s.Head(ctx, caller, order, revision)
	if err != nil {
		return nil, err
	}
	p, err := s.Pattern(ctx, head)
	if err != nil {
		return nil, err
	}
	var counts []PageCount
	err = s.onCore(ctx, caller.Shop, func(ctx context.Context) (err error) {
		counts, err = countPages(ctx, p, o)
		return err
	})
	return counts, err
}

func countPages(ctx context.Context, p finish.Pattern, o Options) ([]PageCount, error) {
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
