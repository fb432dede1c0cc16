package workroom

import (
	"fmt"
	"math"
	"strings"

	"tapeline/service/styles"
)

// column is a style in sentences, as the page to write shows it.
type column struct {
	Sections []section
	Unread   *styles.Problem // why the script cannot be read; the sections are then those of nothing
}

// section is the head of a script, or one of its functions.
type section struct {
	Name, Title, About string
	Items              []*item
	Count              int
	Open               bool // it makes the garment, or has a problem or finding
}

// item is a numbered sentence, or a statement written by hand.
type item struct {
	Key          string // of the page: the section and the number
	Number       int
	From, To     int // lines
	Start, End   int // bytes
	Parts        []part
	Hand         string // the script of what no words say
	Equal, Apart string // of a seam: how long its edges are, or by how much they differ
	Wrong        []string
	Findings     []string
	Items        []*item // of a condition or a loop
	Panel        *panel  // that is open below it
	Whole        bool    // the statement, not a branch of one: it can be removed and moved
}

// part is words of a sentence, or a blank.
type part struct {
	Words      string
	Key        string
	Start, End int
	Length     bool
	Blank      bool
	Open       bool
}

// Place names the blank or sentence that a panel is opened for.
func (p part) Place() string  { return place("blank", p.Start, p.End) }
func (i *item) Place() string { return place("sentence", i.Start, i.End) }

func place(kind string, start, end int) string { return fmt.Sprintf("%s.%d-%d", kind, start, end) }

// columnMaker makes the column of a script that was tried.
type columnMaker struct {
	read  *styles.Sentences
	tried styles.Tried
	unit  styles.Unit
	open  string // the place of the panel that is open
	panel *panel
}

// make returns the sections of the script.
func (m *columnMaker) make() column {
	var c column
	for _, from := range m.read.Sections {
		s := section{Name: from.Name, About: from.About, Title: words(from.Name)}
		switch from.Name {
		case "":
			s.Name, s.Title = "head", "The style"
		case "draft":
			s.Title = "How the block is drafted"
		case "make":
			s.Title, s.About, s.Open = "How it is made", "", true
		}
		s.Items = m.items(&s, from.Statements)
		c.Sections = append(c.Sections, s)
	}
	return c
}

// items returns the sentences of statements, numbered through their section.
func (m *columnMaker) items(s *section, list []*styles.Statement) []*item {
	var all []*item
	for _, st := range list {
		if st.ByHand() {
			all = append(all, m.byHand(s, st))
		}
		for i, x := range st.Sentences {
			it := m.item(s, st, st.Span)
			it.Start, it.End = x.Start, x.End
			it.From = x.Line
			m.fill(it, s, x)
			it.Equal, it.Apart = m.seam(x)
			it.Whole = !st.Otherwise
			if m.marks(it, st, x, i) {
				s.Open = true
			}
			all = append(all, it)
		}
		if len(st.Body) > 0 {
			last := all[len(all)-1]
			last.To = st.Line
			last.Items = m.items(s, st.Body)
		}
	}
	return all
}

func (m *columnMaker) item(s *section, st *styles.Statement, at styles.Span) *item {
	s.Count++
	it := &item{Key: fmt.Sprintf("%s-%d", s.Name, s.Count), Number: s.Count, From: st.Line, To: st.EndLine,
		Start: at.Start, End: at.End, Whole: true}
	if it.Place() == m.open {
		it.Panel, s.Open = m.panel, true
	}
	return it
}

// byHand returns a statement that no words say: of a group its first line.
func (m *columnMaker) byHand(s *section, st *styles.Statement) *item {
	it := m.item(s, st, st.Span)
	it.Hand = st.Text
	if len(st.Body) > 0 {
		it.Hand, _, _ = strings.Cut(st.Text, "\n")
		it.To = st.Line
	}
	if m.marks(it, st, styles.Sentence{}, 0) {
		s.Open = true
	}
	return it
}

// fill gives an item the parts of its sentence.
func (m *columnMaker) fill(it *item, s *section, x styles.Sentence) {
	if it.Place() == m.open {
		it.Panel, s.Open = m.panel, true
	}
	yes := false // the part before this one says yes or no
	for _, p := range x.Parts {
		q := part{Words: p.Words}
		if yes && !strings.HasPrefix(q.Words, " ") && strings.IndexAny(q.Words, ".,;") != 0 {
			q.Words = " " + q.Words
		}
		yes = p.Blank != nil && p.Blank.Kind == "yesno"
		if b := p.Blank; b != nil {
			q = part{Words: strings.TrimSpace(b.Said), Start: b.Start, End: b.End, Blank: true, Length: styles.IsLength(b.Kind),
				Key: fmt.Sprintf("%s-%d", it.Key, len(it.Parts))}
			if q.Words == "" || b.Kind == "yesno" {
				q.Words = yesOrNo(b)
			}
			if q.Place() == m.open && m.panel != nil {
				it.Panel, s.Open, q.Open = m.panel, true, true
			}
		}
		it.Parts = append(it.Parts, q)
	}
}

// yesOrNo says a blank that is written into the sentence as "not", or not at all.
func yesOrNo(b *styles.Blank) string {
	if b.Value.Form == "yesno" {
		return b.Value.Word
	}
	if said := strings.TrimSpace(b.Said); said != "" {
		return said
	}
	return "…"
}

// marks notes what is wrong with a statement, and what is probably a mistake in it. The
// first of several sentences bears what concerns none of them.
func (m *columnMaker) marks(it *item, st *styles.Statement, x styles.Sentence, i int) bool {
	concerns := func(line int) bool {
		if line == 0 || m.read.Containing(line) != st {
			return false
		}
		for j, other := range st.Sentences {
			if other.Line == line {
				return i == j
			}
		}
		return i == 0 || x.Line == line
	}
	if p := m.tried.Problem; p != nil && concerns(p.Line) {
		if p.Reason != "" {
			it.Wrong = append(it.Wrong, sentence(p.Reason))
		}
		for _, f := range p.Faults {
			it.Wrong = append(it.Wrong, sentence(f.Accepted))
		}
	}
	for _, f := range m.tried.Findings {
		if concerns(f.Line) {
			it.Findings = append(it.Findings, sentence(f.Detail))
		}
	}
	return len(it.Wrong) > 0 || len(it.Findings) > 0
}

// seam says how long both sides of a seam are, or by how much they differ.
func (m *columnMaker) seam(x styles.Sentence) (equal, apart string) {
	if x.Verb != "seam" || len(m.tried.Pieces) == 0 {
		return "", ""
	}
	sides := map[string]float64{}
	for _, p := range x.Parts {
		if b := p.Blank; b != nil && (b.Param == "a" || b.Param == "b") {
			length, ok := m.sewn(b.Value)
			if !ok {
				return "", ""
			}
			sides[b.Param] = length
		}
	}
	a, b := sides["a"], sides["b"]
	switch {
	case len(sides) == 1:
		return m.unit.Said(a), ""
	case math.Abs(a-b) < 0.5: // the tolerance of a seam
		return "equal, " + m.unit.Said(a), ""
	case a > b:
		return "", fmt.Sprintf("%s, longer by %s", m.unit.Said(a), m.unit.Said(a-b))
	}
	return "", fmt.Sprintf("%s, shorter by %s", m.unit.Said(a), m.unit.Said(b-a))
}

// sewn returns the length of one side of a seam, mm.
func (m *columnMaker) sewn(v styles.Value) (sum float64, ok bool) {
	names := v.Words
	if v.Form == "word" {
		names = []string{v.Word}
	}
	for _, name := range names {
		length, found := m.edge(name)
		if !found {
			return 0, false
		}
		sum += length
	}
	return sum, len(names) > 0
}

// edge returns the length of an edge, piece/edge.
func (m *columnMaker) edge(name string) (float64, bool) {
	piece, edge, _ := strings.Cut(name, "/")
	for _, p := range m.tried.Pieces {
		for _, e := range p.Edges {
			if p.Name == piece && e.Name == edge {
				return e.Length, true
			}
		}
	}
	return 0, false
}
