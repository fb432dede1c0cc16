package legacy

import (
	"bytes"
	"encoding/json"
	"fmt"

	"tapeline/drafting/document"
	"tapeline/drafting/finish"
)

// draftRecord is a draft as it is stored: the document, which its hash names, and
// beside it what is lettered on its files. The revision's number is in neither, so
// that a draft equals the one before it where nothing changed.
type draftRecord struct {
	pattern  finish.Pattern
	document []byte
	hash     [32]byte
	label    json.RawMessage
	checks   json.RawMessage
}

func newDraftRecord(p finish.Pattern) (draftRecord, error) {
	encoded, err := document.New(p).Encode()
	if err != nil {
		return draftRecord{}, err
	}
	label := document.Label(p.Label)
	label.Revision = 0
	return draftRecord{p, encoded, document.Hash(encoded), encode(label), encode(document.Checks(p.Checks))}, nil
}

// equals reports whether a stored draft has the same document and label.
func (d draftRecord) equals(hash []byte, label json.RawMessage) bool {
	var other document.Label
	return bytes.Equal(d.hash[:], hash) && json.Unmarshal(label, &other) == nil && bytes.Equal(encode(other), d.label)
}

// decodePattern reads a stored document.
func decodePattern(encoded []byte) (finish.Pattern, error) {
	d, err := document.Decode(encoded)
	if err != nil {
		return finish.Pattern{}, fmt.Errorf("stored draft: %w", err)
	}
	return d.Pattern(), nil
}

// decodeLabel reads the stored label of a revision.
func decodeLabel(label json.RawMessage, revision int) (finish.Label, error) {
	var l document.Label
	if err := json.Unmarshal(label, &l); err != nil {
		return finish.Label{}, fmt.Errorf("stored label: %w", err)
	}
	l.Revision = revision
	return finish.Label(l), nil
}
