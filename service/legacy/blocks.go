package legacy

import (
	"bytes"
	"context"
	"encoding/json"
	"regexp"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/service/customers"
)

// Needs implements customers.Styles.
func (s *Service) Needs(ctx context.Context, caller Caller, g customers.Garment) (customers.Needs, error) {
	if g.Block != "" {
		spec, err := findBlock(g.Block)
		return customers.Needs{Requires: spec.Requires, Uses: spec.Uses}, err
	}
	ordered := Spec{Style: g.Style, StyleRevision: g.StyleRevision}
	_, garment, err := s.find(ctx, s.store.Queries, caller, ordered, anyRevision)
	if err != nil {
		return customers.Needs{}, err
	}
	spec := garment.Spec()
	return customers.Needs{Requires: spec.Requires, Uses: spec.Uses}, nil
}

// findBlock returns the block that a request names.
func findBlock(name string) (block.Spec, error) {
	spec, faults := drafting.FindBlock("/block", name)
	if len(faults) > 0 {
		return spec, invalid(faults)
	}
	return spec, nil
}

// encode writes a value of ours as JSON; what we make always marshals.
// Postgres takes no NUL in JSON, and a style's script can put one into a text:
// it becomes the replacement character.
func encode(v any) json.RawMessage {
	data, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	if !bytes.Contains(data, []byte(`\u0000`)) {
		return data
	}
	return escapes.ReplaceAllFunc(data, func(escape []byte) []byte {
		if string(escape) == `\u0000` {
			return []byte(`\ufffd`)
		}
		return escape
	})
}

var escapes = regexp.MustCompile(`\\(u[0-9a-f]{4}|.)`)
