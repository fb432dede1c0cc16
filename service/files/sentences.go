package files

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/bazelbuild/buildtools/build"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
)

// BuiltinScript returns the script of a built-in style.
func BuiltinScript(slug string) (*Script, bool) { return style.Builtin(slug) }

// WriteSentences writes a script as numbered sentences with lengths in a unit. With an
// order file it drafts the order, fills in the numbers of that draft, in the order's unit,
// and marks the instructions that the order does not need. The error is that of the
// order or its draft, or of writing.
func WriteSentences(ctx context.Context, w io.Writer, script *Script, order []byte, unit string) error {
	u := body.Unit(unit)
	var calls sentence.Calls
	if order != nil {
		o, err := ParseOrder(order, script)
		if err != nil {
			return err
		}
		if o.Style != script.Head.Slug {
			return fmt.Errorf("the order is for %q, and the script makes %s", o.Style+o.Block, script.Head.Slug)
		}
		trace := new(style.Trace)
		o.Garment, o.Told, u = script.Tracing(trace), false, o.Unit
		if _, err := drafting.Draft(ctx, o); err != nil {
			return err
		}
		calls = sentence.CallsOf(trace)
	}
	s, err := sentence.Read(script.Source(), u)
	if err != nil {
		return err
	}
	p := sentencePrinter{calls: calls, unit: u}
	for _, section := range s.Sections {
		p.section(section)
	}
	_, err = w.Write(p.Bytes())
	return err
}

// A sentencePrinter prints sentences with their numbers.
type sentencePrinter struct {
	bytes.Buffer
	calls sentence.Calls // nil without an order
	unit  body.Unit
	n     int
}

func (p *sentencePrinter) section(s sentence.Section) {
	title := "The style"
	if s.Name != "" {
		title = s.Name
	}
	if s.About != "" {
		title += ": " + s.About
	}
	if p.Len() > 0 {
		p.WriteByte('\n')
	}
	p.WriteString(title + "\n")
	p.statements(s.Statements, "")
}

func (p *sentencePrinter) statements(list []*sentence.Statement, indent string) {
	for _, st := range list {
		if st.ByHand() {
			lines := fmt.Sprintf("line %d", st.Line)
			if st.EndLine > st.Line && len(st.Body) == 0 {
				lines = fmt.Sprintf("lines %d to %d", st.Line, st.EndLine)
			}
			fmt.Fprintf(p, "      %sWritten by hand, %s: %s\n", indent, lines, firstLine(st.Text))
		}
		for _, x := range st.Sentences {
			p.n++
			text := x.Text()
			if p.calls != nil {
				var made bool
				if text, made = p.calls.Fill(x, p.unit); !made {
					text += " (Not for this order.)"
				}
			}
			fmt.Fprintf(p, "%4d. %s%s\n", p.n, indent, text)
		}
		p.statements(st.Body, indent+"    ")
	}
}

func firstLine(text string) string {
	line, rest, more := strings.Cut(text, "\n")
	if more && rest != "" {
		line += " ..."
	}
	return line
}

// FormatScript returns a script in the usual layout: four spaces for a block, spaces
// round operators, one element on a line in a list over several lines. It changes neither
// what the script does nor its comments.
func FormatScript(source []byte) ([]byte, error) {
	before, err := style.Parse(source)
	if err != nil {
		return nil, err
	}
	file, err := build.ParseDefault("style", source)
	if err != nil {
		return nil, err
	}
	formatted := build.FormatWithoutRewriting(file)
	after, err := style.Parse(formatted)
	if err != nil {
		return nil, fmt.Errorf("the formatted script: %w", err)
	}
	if !sentence.SameScript(before, after) {
		return nil, errors.New("the script cannot be formatted without changing what it does")
	}
	return formatted, nil
}
