package styles

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"strings"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/render"
	"tapeline/drafting/sizes"
	"tapeline/service"
	"tapeline/service/work"
)

// OrderInput is an order as a shop gives it.
type OrderInput = drafting.OrderInput

// SizesRequest asks for a style in the sizes of a table.
type SizesRequest struct {
	Slug     string
	Revision int    // 0: the one that a new order would get
	Table    string // a standard table; "" for women's, or
	CSV      string // a table as CSV
	Only     []string
	Input    OrderInput // fit, choices, ease and allowances, in its unit
	Format   string
	Options  render.Options
}

// SizesFile is a size run as a file.
type SizesFile struct {
	MediaType, Name string
	Content         []byte
}

// SizeRun drafts a style over a size table and writes the run. What is wrong with the
// table, the options or a size fails with CodeInvalidInput, more runs and trials of a shop
// at once than it may have with CodeTooManyAtOnce.
func (s *Service) SizeRun(ctx context.Context, caller service.Caller, r SizesRequest) (SizesFile, error) {
	format, err := render.ParseSizesFormat(r.Format)
	if wrong, ok := errors.AsType[fault.Fault](err); ok {
		return SizesFile{}, service.Invalid(fault.List{wrong})
	}
	if r.Options, err = format.Fill(r.Options); err != nil {
		return SizesFile{}, refused(err)
	}
	script, err := s.Script(ctx, caller, r.Slug, r.Revision)
	if err != nil {
		return SizesFile{}, err
	}
	leave, err := s.trials.Enter(caller.Owner())
	if err != nil {
		return SizesFile{}, err
	}
	defer leave()
	f := SizesFile{MediaType: format.MediaType, Name: r.Slug + "-sizes." + format.Name}
	err = s.cfg.Cores.Do(ctx, work.Request, caller.Owner(), func(ctx context.Context) error {
		run, err := s.draftSizes(ctx, script, r)
		if err != nil {
			return refused(err)
		}
		var out bytes.Buffer
		err = format.Write(ctx, &out, run, body.Unit(r.Input.Unit), r.Options)
		f.Content = out.Bytes()
		return refused(err)
	})
	return f, err
}

// draftSizes drafts a script over the table of a request.
func (s *Service) draftSizes(ctx context.Context, script string, r SizesRequest) (sizes.Run, error) {
	garment, err := s.compile(script)
	if err != nil {
		return sizes.Run{}, err
	}
	r.Input.Style = garment.Head.Slug
	base, faults := sizes.Base(r.Input, garment)
	if len(faults) > 0 {
		return sizes.Run{}, faults
	}
	var table []sizes.Size
	if r.CSV != "" {
		if table, _, err = sizes.ReadCSV(strings.NewReader(r.CSV), nil); err != nil {
			return sizes.Run{}, fault.List{{Code: fault.Format, Field: "/csv", Accepted: err.Error()}}
		}
	} else {
		spec, _ := base.Spec()
		var ok bool
		if table, ok = sizes.Standard(cmp.Or(r.Table, sizes.EN13402), spec.Requires...); !ok {
			return sizes.Run{}, fault.OneOf("/table", r.Table, sizes.StandardNames()...)
		}
	}
	if table, faults = sizes.Only(table, r.Only); len(faults) > 0 {
		return sizes.Run{}, faults
	}
	return sizes.Draft(ctx, base, table)
}

// refused returns what is wrong with a request as its error.
func refused(err error) error {
	if faults, ok := errors.AsType[fault.List](err); ok {
		return service.Invalid(faults)
	}
	return err
}
