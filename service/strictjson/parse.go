// Package strictjson reads JSON from outside strictly and reports everything
// that is wrong with it at once, each fault at its JSON pointer. It refuses
// what encoding/json accepts: repeated keys, invalid UTF-8, keys in another
// case, unknown fields and numbers beyond float64.
package strictjson

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"

	"tapeline/drafting/fault"
)

const (
	// MaxSize is the largest input that Parse reads, bytes.
	MaxSize = 4 << 20

	// MaxDepth is how deep objects and arrays may nest.
	MaxDepth = 16
)

// Parse reads one JSON value from data, which is UTF-8 with or without a byte
// order mark. The value is nil, a bool, a float64, a string, a []any or a
// map[string]any, as encoding/json has it. The pointers of nulls are returned
// in the order of the input.
//
// A repeated key and a number beyond float64 are faults that leave the rest of
// the value readable: the first of the keys counts, and a field with such a
// number is left out. After any other fault the value is nil.
func Parse(data []byte) (value any, nulls []string, faults fault.List) {
	if len(data) > MaxSize {
		return nil, nil, fault.List{{Code: fault.Size, Value: fmt.Sprintf("%d bytes", len(data)),
			Accepted: fmt.Sprintf("at most %d bytes", MaxSize)}}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, nil, fault.List{{Code: fault.Syntax, Accepted: "one JSON value; the input is empty"}}
	}
	p := parser{decoder: jsontext.NewDecoder(bytes.NewBuffer(data), jsontext.AllowDuplicateNames(true))}
	value, err := p.value()
	if err == nil {
		err = p.end()
	}
	if err != nil {
		return nil, nil, append(p.faults, p.fault(data, err))
	}
	if value == (unreadable{}) {
		value = nil
	}
	return value, p.nulls, p.faults
}

type parser struct {
	decoder *jsontext.Decoder
	nulls   []string
	faults  fault.List
}

var errDepth = fmt.Errorf("at most %d objects and arrays within one another", MaxDepth)

func (p *parser) value() (any, error) {
	token, err := p.decoder.ReadToken()
	if err != nil {
		return nil, err
	}
	switch token.Kind() {
	case 'n':
		p.nulls = append(p.nulls, p.pointer())
		return nil, nil
	case 't', 'f':
		return token.Bool(), nil
	case '"':
		return token.String(), nil
	case '0':
		return p.number(token.String()), nil
	case '[':
		return p.array()
	default:
		return p.object()
	}
}

// unreadable stands for a number beyond float64.
type unreadable struct{}

func (p *parser) number(text string) any {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		p.faults = append(p.faults, fault.Fault{Code: fault.Range, Field: p.pointer(), Value: shorten(text),
			Accepted: "a number that float64 can hold"})
		return unreadable{}
	}
	return v
}

func (p *parser) array() (any, error) {
	list := []any{}
	if p.decoder.StackDepth() > MaxDepth {
		return nil, errDepth
	}
	for p.decoder.PeekKind() != ']' {
		v, err := p.value()
		if err != nil {
			return nil, err
		}
		if v != (unreadable{}) {
			list = append(list, v)
		}
	}
	_, err := p.decoder.ReadToken()
	return list, err
}

func (p *parser) object() (any, error) {
	members := map[string]any{}
	if p.decoder.StackDepth() > MaxDepth {
		return nil, errDepth
	}
	for p.decoder.PeekKind() != '}' {
		token, err := p.decoder.ReadToken()
		if err != nil {
			return nil, err
		}
		name := token.String()
		v, err := p.value()
		if err != nil {
			return nil, err
		}
		if _, repeated := members[name]; repeated {
			p.faults = append(p.faults, fault.Fault{Code: fault.Duplicate, Field: p.pointer(), Value: show(v),
				Accepted: "each key once in an object"})
			continue
		}
		if v != (unreadable{}) {
			members[name] = v
		}
	}
	_, err := p.decoder.ReadToken()
	return members, err
}

// end checks that nothing follows the value.
func (p *parser) end() error {
	_, err := p.decoder.ReadToken()
	if errors.Is(err, io.EOF) {
		return nil
	}
	if err == nil {
		err = errors.New("a second value follows")
	}
	return err
}

func (p *parser) pointer() string { return string(p.decoder.StackPointer()) }

// fault describes the error that stopped the parser.
func (p *parser) fault(data []byte, err error) fault.Fault {
	f := fault.Fault{Code: fault.Syntax, Field: p.pointer(), Accepted: err.Error()}
	if errors.Is(err, errDepth) {
		return f
	}
	offset := p.decoder.InputOffset()
	if e, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		f.Field, f.Accepted = string(e.JSONPointer), e.Err.Error()
		offset = e.ByteOffset
	}
	f.Value, f.Accepted = "at "+position(data, int(offset)), "one well-formed JSON value in UTF-8: "+f.Accepted
	return f
}

// position gives the line and the column, in characters, both from 1.
func position(data []byte, offset int) string {
	before := data[:min(offset, len(data))]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return fmt.Sprintf("line %d column %d", line, column)
}
