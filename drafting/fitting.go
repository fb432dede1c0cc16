package drafting

import (
	"context"
	"errors"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/fitting"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// FittingOptions say how an order is tried on.
type FittingOptions struct {
	Form     *form.Form // nil for one of the order's measurements
	Cloth    string     // name of a preset; "" for the one that suits the style
	Quick    bool
	Progress func(steps int, residual float64)
}

// Fitting is an order tried on.
type Fitting struct {
	*fitting.Result
	Pattern finish.Pattern
	Body    body.Body // with all that a form needs
	Form    *form.Form
	Options fitting.Options
}

// TryOn drafts an order and tries the pattern on its body. The error is a
// fault.List where the order or an option is at fault.
func TryOn(ctx context.Context, o Order, opts FittingOptions) (*Fitting, error) {
	spec, request, err := o.Request()
	if err != nil {
		return nil, err
	}
	if len(request.Left)+len(request.Right) > 0 {
		return nil, fault.List{{Code: fault.Undraftable, Field: "/alterations",
			Accepted: "the same alterations left and right: a fitting sews one half for both"}}
	}
	cloth, ok := fitting.Cloth(opts.Cloth, strings.Contains(spec.Name, "knit"))
	if !ok {
		return nil, fault.List{{Code: fault.Choice, Field: "/cloth", Value: opts.Cloth, Accepted: fitting.ClothNames()}}
	}
	given := body.Measures{}
	for _, n := range request.Body.Names() {
		if request.Body.Given(n) {
			given[n] = request.Body.Value(n)
		}
	}
	person, faults := body.NewIn(o.Unit, given, nil, form.Needs)
	if len(faults) > 0 {
		return nil, faults
	}
	on := opts.Form
	if on == nil {
		if on, err = form.Make(person, person.Woman()); err != nil {
			return nil, fault.List{{Code: fault.Undraftable, Field: "/measurements", Accepted: err.Error()}}
		}
	}
	drafted, err := Draft(ctx, o)
	if err != nil {
		return nil, err
	}
	p := pattern.Pattern{Seams: drafted.Seams, Checks: drafted.Checks}
	for _, q := range drafted.Pieces {
		p.Pieces = append(p.Pieces, q.Piece)
	}
	options := fitting.Options{Cloth: cloth, Quick: opts.Quick, Close: request.Fit == "close", Progress: opts.Progress}
	r, err := fitting.Wear(ctx, p, on, person, options)
	if not, ok := errors.AsType[*fitting.NotTriedError](err); ok {
		return nil, fault.List{{Code: fault.Undraftable, Field: "/style", Value: spec.Name, Accepted: not.Reason}}
	}
	if err != nil {
		return nil, err
	}
	return &Fitting{Result: r, Pattern: drafted, Body: person, Form: on, Options: options}, nil
}
