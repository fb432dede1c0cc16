package fittings

import (
	"context"

	"github.com/google/uuid"

	"tapeline/drafting"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/fitting"
	"tapeline/drafting/geom"
	"tapeline/service/work"
)

// A Pair is one wearer tried on in two drafts.
type Pair struct {
	Before, After fitting.Report
	Picture       []byte // of both, side by side, as Draw takes it
}

// Two drafts of an order for one wearer.
type Two struct {
	Before, After drafting.Order
	Stored        *finish.Pattern // the draft of Before; nil to make it
	SameBody      bool            // they are of the same measurements, and so tried on the same form
	Detail        Detail
	Cloth         string // name of a preset; "" for the one that suits the style
}

// TryBoth tries two drafts on, on a spare core.
func (s *Service) TryBoth(ctx context.Context, shop uuid.UUID, two Two) (pair Pair, err error) {
	options := drafting.FittingOptions{Cloth: two.Cloth, Quick: two.Detail == Quick}
	err = s.Cores.DoFor(ctx, work.Bulk, shop, 2*mostTime, func(ctx context.Context) error {
		var before, after drawing.Shaded
		options.Draft = two.Stored
		f, err := drafting.TryOn(ctx, two.Before, options)
		if err != nil {
			return err
		}
		pair.Before = f.Report(fitting.OfMeasurements)
		if before, err = f.Picture(ctx, f.Title(two.Before.Label.Reference), f.Options); err != nil {
			return err
		}
		if two.SameBody {
			options.Form = f.Form
		}
		options.Draft = nil
		if f, err = drafting.TryOn(ctx, two.After, options); err != nil {
			return err
		}
		pair.After = f.Report(fitting.OfMeasurements)
		if after, err = f.Picture(ctx, "", f.Options); err != nil {
			return err
		}
		pair.Picture, err = pack(beside(headed(before, "As now"), headed(after, "After the change")))
		return err
	})
	return pair, err
}

// headed puts a heading over a picture of a fitting.
func headed(p drawing.Shaded, words string) drawing.Shaded {
	p.Texts = append(p.Texts, finish.Text{Lines: []string{words}, At: geom.Point{X: 10, Y: 4}, Size: 4})
	return p
}
