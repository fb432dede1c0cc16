package document

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"

	"tapeline/drafting/geom"
)

// Encode writes the document as JSON, the same bytes for the same document.
func (d Document) Encode() ([]byte, error) {
	data, err := json.Marshal(d)
	if err != nil {
		return nil, fmt.Errorf("encode document: %w", err)
	}
	return data, nil
}

// Hash names an encoded document: its SHA-256.
func Hash(encoded []byte) [sha256.Size]byte { return sha256.Sum256(encoded) }

// Decode reads an encoded document. It refuses every version but Version, and a
// document that cannot be drawn; what is derived from the rest, such as lengths
// and flattened lines, it does not compare.
func Decode(encoded []byte) (Document, error) {
	var d Document
	err := json.Unmarshal(encoded, &d)
	if err != nil || d.Version != Version {
		// Another version may differ in any field: say so first.
		var head struct{ Version int }
		if json.Unmarshal(encoded, &head) == nil && head.Version != Version {
			return Document{}, fmt.Errorf("decode document: unknown version %d; this program reads version %d", head.Version,
				Version)
		}
		return Document{}, fmt.Errorf("decode document: %w", err)
	}
	if err := d.check(); err != nil {
		return Document{}, fmt.Errorf("decode document: %w", err)
	}
	return d, nil
}

// check returns what keeps the document from being drawn.
func (d Document) check() error {
	if d.Unit != unit {
		return fmt.Errorf("unit %.20q is not %q", d.Unit, unit)
	}
	for i, p := range d.Pieces {
		if err := p.check(); err != nil {
			return fmt.Errorf("piece %d (%.40q): %w", i, p.Name, err)
		}
	}
	return nil
}

func (p Piece) check() error {
	if len(p.Edges) == 0 {
		return errors.New("no edges")
	}
	if len(p.Grain) != 0 && len(p.Grain) != 2 {
		return fmt.Errorf("a grain of %d points; 2 are needed", len(p.Grain))
	}
	last := p.Edges[len(p.Edges)-1]
	for _, e := range p.Edges {
		if len(e.Path) == 0 || len(last.Path) == 0 || !last.Path.end().Near(e.Path[0].P0, geom.JoinTol) {
			return fmt.Errorf("edge %.40q does not start where %.40q ends", e.Name, last.Name)
		}
		last = e
	}
	if cut := p.CutPath.geom(); !cut.Closed() {
		return errors.New("the cut line is not closed")
	}
	for _, d := range p.Darts {
		if d.Pressed != 0 && d.Pressed != 1 {
			return fmt.Errorf("dart %.40q is pressed over leg %d; 0 or 1 is needed", d.Name, d.Pressed)
		}
	}
	return nil
}
