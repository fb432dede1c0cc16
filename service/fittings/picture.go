package fittings

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math"

	"github.com/google/uuid"

	"tapeline/db/query"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/render"
	"tapeline/service"
	"tapeline/service/patterns"
	"tapeline/service/work"
)

// packed is a picture as it is stored, to a hundredth of a millimetre.
type packed struct {
	Title  string        `json:"title"`
	Width  float64       `json:"width"` // mm
	Height float64       `json:"height"`
	Facets []int32       `json:"facets"` // x and y of three corners and the colour, for each
	Texts  []finish.Text `json:"texts"`
}

// perMM is how many units of packed are a millimetre, and ofFacet how many numbers
// it has for a facet.
const (
	perMM   = 100
	ofFacet = 7
)

// pack encodes a picture.
func pack(p drawing.Shaded) ([]byte, error) {
	stored := packed{Title: p.Title, Width: p.Width, Height: p.Height, Texts: p.Texts,
		Facets: make([]int32, 0, ofFacet*len(p.Facets))}
	unit := func(mm float64) int32 { return int32(math.Round(perMM * mm)) }
	for _, f := range p.Facets {
		for _, at := range f.At {
			stored.Facets = append(stored.Facets, unit(at.X), unit(at.Y))
		}
		stored.Facets = append(stored.Facets, int32(f.Color[0])<<16|int32(f.Color[1])<<8|int32(f.Color[2]))
	}
	return json.Marshal(stored)
}

// unpack decodes a picture.
func unpack(data []byte) (p drawing.Shaded, err error) {
	var stored packed
	if err := json.Unmarshal(data, &stored); err != nil || len(stored.Facets)%ofFacet != 0 {
		return p, fmt.Errorf("stored picture of a fitting, %d numbers: %w", len(stored.Facets), err)
	}
	p = drawing.Shaded{Title: stored.Title, Width: stored.Width, Height: stored.Height, Texts: stored.Texts,
		Facets: make([]drawing.Facet, len(stored.Facets)/ofFacet)}
	for i := range p.Facets {
		n := stored.Facets[i*ofFacet : (i+1)*ofFacet]
		for k := range 3 {
			p.Facets[i].At[k] = geom.Point{X: float64(n[2*k]) / perMM, Y: float64(n[2*k+1]) / perMM}
		}
		p.Facets[i].Color = [3]uint8{uint8(n[6] >> 16), uint8(n[6] >> 8), uint8(n[6])}
	}
	return p, nil
}

// beside lays a picture to the right of another.
func beside(left, right drawing.Shaded) drawing.Shaded {
	p := left
	p.Width, p.Height = left.Width+right.Width, max(left.Height, right.Height)
	for _, f := range right.Facets {
		for k := range f.At {
			f.At[k].X += left.Width
		}
		p.Facets = append(p.Facets, f)
	}
	for _, t := range right.Texts {
		t.At.X += left.Width
		p.Texts = append(p.Texts, t)
	}
	return p
}

// pixels is the width of a picture in PNG.
const pixels = 1600

// Picture returns the picture of a fitting as svg, png or pdf. It fails with
// CodeWrongState if the fitting is not ready, and with CodeTooManyAtOnce.
func (s *Service) Picture(
	ctx context.Context, caller service.Caller, id uuid.UUID, format string, has func(tag string) bool,
) (patterns.File, error) {
	row, err := s.store.FittingPicture(ctx, query.FittingPictureParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return patterns.File{}, service.OrNotFound(err, "fitting")
	}
	if row.Picture == nil {
		return patterns.File{}, service.Refuse(service.CodeWrongState, "the fitting is %s; one that is ready has a picture",
			row.State)
	}
	return s.Draw(ctx, caller, Drawing{Packed: row.Picture, Reference: row.Reference, Format: format}, has)
}

// A Drawing is a stored picture to be drawn.
type Drawing struct {
	Packed    []byte
	Reference string // of the order
	Format    string // svg, png or pdf
}

// Draw draws a stored picture. It fails with CodeTooManyAtOnce if the shop has too many
// drawn at once.
func (s *Service) Draw(
	ctx context.Context, caller service.Caller, d Drawing, has func(tag string) bool,
) (patterns.File, error) {
	sum := sha256.Sum256(append([]byte(s.Version+" "+d.Format+" "), d.Packed...))
	f := patterns.File{Tag: fmt.Sprintf("%x", sum[:16]), Name: patterns.FileName(d.Reference, "fitting") + "." + d.Format,
		MediaType: mediaTypes[d.Format]}
	if has != nil && has(f.Tag) {
		return f, nil
	}
	leave, err := s.pictures.Enter(caller.Shop)
	if err != nil {
		return patterns.File{}, err
	}
	defer leave()
	err = s.Cores.Do(ctx, work.Request, caller.Shop, func(ctx context.Context) error {
		p, err := unpack(d.Packed)
		if err == nil {
			f.Content, err = draw(ctx, p, d.Format)
		}
		return err
	})
	return f, err
}

// mediaTypes are those of the formats of a picture.
var mediaTypes = map[string]string{"svg": "image/svg+xml", "png": "image/png", "pdf": "application/pdf"}

func draw(ctx context.Context, p drawing.Shaded, format string) (_ []byte, err error) {
	var out bytes.Buffer
	switch format {
	case "svg":
		err = render.ShadedSVG(ctx, &out, p)
	case "png":
		err = render.ShadedPNG(ctx, &out, p, pixels)
	default:
		err = render.ShadedPDF(ctx, &out, p)
	}
	return out.Bytes(), err
}
