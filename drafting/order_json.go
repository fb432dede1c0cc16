package drafting

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"tapeline/drafting/fault"
)

// What an order file may at most be: no order comes near it.
const (
	maxOrderSize  = 1 << 20 // bytes
	maxOrderDepth = 16      // objects and arrays within one another
)

type kind int

const (
	kindNull kind = iota
	kindBool
	kindNumber
	kindText
	kindArray
	kindObject
)

// A node is one JSON value as it stands in the file. encoding/json decoded
// into structs keeps the last of two equal keys, takes keys of any case and
// stops at the first wrong type; an order must be told of all of that.
type node struct {
	kind    kind
	text    string // of a number as written, of a text decoded
	members []member
}

type member struct {
	name  string
	value node
}

// show is the node as a fault shows it.
func (n node) show() string {
	switch n.kind {
	case kindNumber:
		return strings.Trim(fault.Shorten(n.text), `"`)
	case kindText:
		return fault.Shorten(n.text)
	case kindArray:
		return "[…]"
	case kindObject:
		return "{…}"
	default:
		return n.text
	}
}

// readJSON reads one JSON value, UTF-8 with or without a byte order mark. The
// faults are those of the file as JSON: of its size, syntax, depth, and of
// keys that stand twice in one object, of which the first is kept.
func readJSON(data []byte) (node, fault.List) {
	if len(data) > maxOrderSize {
		return node{}, fault.List{{Code: fault.Size, Value: fmt.Sprintf("%d bytes", len(data)),
			Accepted: fmt.Sprintf("at most %d bytes", maxOrderSize)}}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if i := invalidUTF8(data); i >= 0 {
		return node{}, fault.List{{Code: fault.Syntax, Value: "not UTF-8 at " + position(data, i), Accepted: "JSON in UTF-8"}}
	}
	r := jsonReader{dec: json.NewDecoder(bytes.NewReader(data))}
	r.dec.UseNumber()
	n, walkErr := r.value(nil)
	// The decoder's tokens stop where the first wrong one stands; what exactly
	// is wrong, and whether anything follows the value, the whole parse knows.
	var whole json.RawMessage
	if err := json.Unmarshal(data, &whole); err != nil {
		return node{}, fault.List{syntaxFault(data, r.at, err)}
	}
	if walkErr != nil {
		return node{}, append(r.faults, fault.Fault{Code: fault.Syntax, Field: r.at, Accepted: walkErr.Error()})
	}
	return n, r.faults
}

func invalidUTF8(data []byte) int {
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && size == 1 {
			return i
		}
		i += size
	}
	return -1
}

// position counts lines and columns (in characters) from 1.
func position(data []byte, offset int) string {
	before := data[:min(offset, len(data))]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return fmt.Sprintf("line %d column %d", line, column)
}

func syntaxFault(data []byte, field string, err error) fault.Fault {
	f := fault.Fault{Code: fault.Syntax, Field: field, Accepted: "JSON, one value: " + err.Error()}
	if len(bytes.TrimSpace(data)) == 0 {
		f.Accepted = "JSON, one value, not an empty file"
		return f
	}
	if se, ok := errors.AsType[*json.SyntaxError](err); ok {
		f.Value = "at " + position(data, int(se.Offset)-1)
	}
	return f
}

// jsonReader builds nodes from the tokens of a decoder.
type jsonReader struct {
	dec    *json.Decoder
	at     string // pointer to where it reads
	faults fault.List
}

var errDepth = fmt.Errorf("at most %d objects and arrays within one another", maxOrderDepth)

func (r *jsonReader) value(path []string) (node, error) {
	r.at = fault.Pointer(path...)
	token, err := r.dec.Token()
	if err != nil {
		return node{}, err
	}
	switch t := token.(type) {
	case nil:
		return node{kind: kindNull, text: "null"}, nil
	case bool:
		return node{kind: kindBool, text: fmt.Sprint(t)}, nil
	case json.Number:
		return node{kind: kindNumber, text: t.String()}, nil
	case string:
		return node{kind: kindText, text: t}, nil
	case json.Delim:
		if len(path) == maxOrderDepth {
			return node{}, errDepth
		}
		if t == '[' {
			return node{kind: kindArray}, r.array(path)
		}
		return r.object(path)
	}
	return node{}, io.ErrUnexpectedEOF
}

// array reads past an array: an order has none, its values only matter for
// what is wrong with them as JSON.
func (r *jsonReader) array(path []string) error {
	for i := 0; r.dec.More(); i++ {
		if _, err := r.value(append(slices.Clip(path), fmt.Sprint(i))); err != nil {
			return err
		}
	}
	_, err := r.dec.Token()
	return err
}

func (r *jsonReader) object(path []string) (node, error) {
	n := node{kind: kindObject}
	seen := map[string]bool{}
	for r.dec.More() {
		r.at = fault.Pointer(path...)
		token, err := r.dec.Token()
		if err != nil {
			return node{}, err
		}
		name, _ := token.(string) // the decoder lets no other token be a key
		here := append(slices.Clip(path), name)
		v, err := r.value(here)
		if err != nil {
			return node{}, err
		}
		if seen[name] {
			r.faults = append(r.faults, fault.Fault{Code: fault.Duplicate, Field: fault.Pointer(here...),
				Value: v.show(), Accepted: "each key once in an object"})
			continue
		}
		seen[name] = true
		n.members = append(n.members, member{name, v})
	}
	r.at = fault.Pointer(path...)
	_, err := r.dec.Token()
	return n, err
}
