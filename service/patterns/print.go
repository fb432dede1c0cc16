package patterns

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/drafting/making"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
	"tapeline/service"
)

// The limits of one print. A page takes about 8 kB of memory, twice while the file
// is written.
const (
	MaxPrint      = 100 // orders
	maxPrintPages = 3000
)

// Print asks for the patterns of several orders, each with a job ticket in front.
type Print struct {
	Orders []uuid.UUID
	Paper  string // "": A4
	Format string // pdf for one file, zip for a PDF of each order
}

// Print returns the files of a print, in the order in which it names them. All
// orders that cannot be printed are named by faults, under the rules of Head. More
// prints of a shop at once than it may have fail with CodeTooManyAtOnce.
func (s *Service) Print(ctx context.Context, caller service.Caller, r Print) (File, error) {
	_, options, err := ParseOptions("pdf", Options{Paper: r.Paper})
	if err != nil {
		return File{}, err
	}
	faults := fault.OneOf("/format", r.Format, "pdf", "zip")
	if n := len(r.Orders); n == 0 || n > MaxPrint {
		faults = append(faults, fault.Fault{Code: fault.Range, Field: "/orders", Value: fmt.Sprintf("%d orders", n),
			Accepted: fmt.Sprintf("1 to %d orders", MaxPrint)})
	}
	if len(faults) > 0 {
		return File{}, service.Invalid(faults)
	}
	leave, err := s.prints.Enter(caller.Shop)
	if err != nil {
		return File{}, err
	}
	defer leave()
	heads, err := s.printable(ctx, caller, r.Orders)
	if err != nil {
		return File{}, err
	}
	if r.Format == "zip" {
		return s.printZip(ctx, heads, options)
	}
	f := File{MediaType: "application/pdf", Name: "orders-" + options.Paper + ".pdf"}
	f.Content, err = s.bundle(ctx, heads, options, new(int))
	return f, err
}

// printable returns the current drafts of orders, or the faults of all orders that
// have none to hand out.
func (s *Service) printable(ctx context.Context, caller service.Caller, ids []uuid.UUID) ([]query.DraftHead, error) {
	var faults fault.List
	heads := make([]query.DraftHead, len(ids))
	seen := map[uuid.UUID]bool{}
	for i, id := range ids {
		wrong := fault.Fault{Code: fault.Choice, Field: fault.Pointer("orders", strconv.Itoa(i)), Value: id.String()}
		if seen[id] {
			wrong.Code, wrong.Accepted = fault.Duplicate, "each order once"
			faults = append(faults, wrong)
			continue
		}
		seen[id] = true
		var err error
		heads[i], err = s.Head(ctx, caller, id, 0)
		if e, ok := errors.AsType[*service.Error](err); ok {
			wrong.Accepted = "a ready order: " + e.Detail
			faults = append(faults, wrong)
			continue
		}
		if err != nil {
			return nil, err
		}
	}
	if len(faults) > 0 {
		return nil, service.Invalid(faults)
	}
	return heads, nil
}

// bundle makes one PDF of drafts and adds its pages to those counted.
func (s *Service) bundle(ctx context.Context, heads []query.DraftHead, o Options, pages *int) ([]byte, error) {
	b, err := render.NewBundle(o)
	if err != nil {
		return nil, fmt.Errorf("start a print: %w", err)
	}
	for _, head := range heads {
		p, err := s.Pattern(ctx, head)
		if err != nil {
			return nil, err
		}
		ticket, err := s.ticket(ctx, head)
		if err != nil {
			return nil, err
		}
		before := b.Pages()
		err = s.onCore(ctx, head.ShopID, func(ctx context.Context) error { return b.Add(ctx, p, ticket) })
		if wrong, ok := errors.AsType[fault.List](err); ok {
			return nil, wrongOptions(wrong)
		}
		if err != nil {
			return nil, fmt.Errorf("print order %s: %w", head.OrderID, err)
		}
		if *pages += b.Pages() - before; *pages > maxPrintPages {
			return nil, service.Invalid(fault.List{{Code: fault.Size, Field: "/orders",
				Accepted: fmt.Sprintf("orders that take at most %d pages together", maxPrintPages)}})
		}
	}
	var out bytes.Buffer
	err = s.onCore(ctx, heads[0].ShopID, func(context.Context) error { return b.Write(&out) })
	return out.Bytes(), err
}

// ticket returns what the job ticket of a draft's order says beside the pattern.
func (s *Service) ticket(ctx context.Context, head query.DraftHead) (making.Ticket, error) {
	o, err := s.store.Order(ctx, query.OrderParams{ShopID: head.ShopID, ID: head.OrderID})
	t := making.Ticket{Address: s.cfg.PublicURL + "/workroom/orders/" + head.OrderID.String(),
		Maker: service.OrZero(o.Assignee)}
	if o.DueDate != nil {
		t.Due = o.DueDate.Format(time.DateOnly)
	}
	return t, err
}

// printZip makes a PDF of each draft, in one archive.
func (s *Service) printZip(ctx context.Context, heads []query.DraftHead, o Options) (File, error) {
	var out bytes.Buffer
	archive := zip.NewWriter(&out)
	taken, pages := map[string]bool{}, 0
	for i := range heads {
		p, err := s.Pattern(ctx, heads[i])
		if err != nil {
			return File{}, err
		}
		content, err := s.bundle(ctx, heads[i:i+1], o, &pages)
		if err != nil {
			return File{}, err
		}
		name := freeName(taken, FileName(p.Label.Reference, o.Paper))
		err = s.onCore(ctx, heads[i].ShopID, func(context.Context) error {
			w, err := archive.Create(name + ".pdf")
			if err == nil {
				_, err = w.Write(content)
			}
			return err
		})
		if err != nil {
			return File{}, fmt.Errorf("pack order %s: %w", heads[i].OrderID, err)
		}
	}
	if err := archive.Close(); err != nil {
		return File{}, fmt.Errorf("pack a print: %w", err)
	}
	return File{MediaType: "application/zip", Name: "orders-" + o.Paper + ".zip", Content: out.Bytes()}, nil
}

// freeName returns a name that is not taken, and takes it. References that differ can
// make the same name, also where case is ignored.
func freeName(taken map[string]bool, name string) string {
	free := name
	for n := 2; taken[strings.ToLower(free)]; n++ {
		free = fmt.Sprintf("%s-%d", name, n)
	}
	taken[strings.ToLower(free)] = true
	return free
}

// Paper is a size of paper that patterns are printed on.
type Paper struct{ Name, Title string }

// Papers lists the cut sizes and the usual widths of rolls. The title is for people.
func Papers() []Paper {
	var all []Paper
	for _, p := range sheets.Papers() {
		title := strings.ToUpper(p.Name[:1]) + p.Name[1:]
		if family, size, ok := strings.Cut(p.Name, "-"); ok {
			title = strings.ToUpper(family) + " " + strings.ToUpper(size)
		}
		all = append(all, Paper{p.Name, title})
	}
	return append(all, Paper{"roll-914", "Roll, 91.4 cm (36 in) wide"}, Paper{"roll-610", "Roll, 61 cm (24 in) wide"})
}
