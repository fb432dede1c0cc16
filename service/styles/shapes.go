package styles

import (
	"slices"
	"strings"

	"tapeline/drafting/finish"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
)

// A Shape is a thing of the pattern that can be picked in the picture: a piece, or an
// edge, dart, line or mark of one.
type Shape struct {
	TriedOrigin
	Said   string  // in the trade's words, such as front neckline
	Length float64 // mm: of an edge with its darts closed, of a line, of a dart's longer leg; 0 for pieces and marks
	Intake float64 // mm, of a dart
}

// A Saying is a statement of the script in words.
type Saying struct {
	Line int // as an origin has it
	Text string
}

// shapes returns what can be picked of a draft, each piece before its parts. pieces has the
// lengths of its edges, and from is in the same order, without what has no origin.
func shapes(p finish.Pattern, pieces []TriedPiece, from []TriedOrigin) []Shape {
	var all []Shape
	add := func(piece string, kind style.Kind, name string, length, intake float64) {
		s := Shape{TriedOrigin: TriedOrigin{Piece: piece, Kind: string(kind), Name: name}, Said: said(piece, name),
			Length: length, Intake: intake}
		if len(from) > 0 && from[0].Piece == piece && from[0].Kind == string(kind) && from[0].Name == name {
			s.TriedOrigin, from = from[0], from[1:]
		}
		all = append(all, s)
	}
	for i, q := range pieces {
		add(q.Name, "", "", 0, 0)
		for _, e := range q.Edges {
			add(q.Name, style.KindEdge, e.Name, e.Length, 0)
		}
		for _, d := range p.Pieces[i].Darts {
			add(q.Name, style.KindDart, d.Name, max(d.Legs[0].Length(), d.Legs[1].Length()), d.Intake())
		}
		for _, l := range p.Pieces[i].Lines {
			add(q.Name, style.KindLine, l.Name, l.Path.Length(), 0)
		}
		for _, m := range p.Pieces[i].Marks {
			add(q.Name, style.KindMark, m.Name, 0, 0)
		}
	}
	return all
}

// said names a part of a piece in words: front neckline.
func said(piece, name string) string {
	return strings.TrimSpace(strings.ReplaceAll(piece+" "+name, "_", " "))
}

// sayings returns the statements of a script that made or changed shapes.
func sayings(script string, unit Unit, all []Shape) []Saying {
	read, problem := ReadSentences(script, unit)
	if problem != nil {
		return nil
	}
	var lines []int
	for _, s := range all {
		lines = append(lines, s.Made, s.MadeIn, s.Changed, s.ChangedIn)
	}
	slices.Sort(lines)
	var list []Saying
	for _, line := range slices.Compact(lines) {
		if st := read.Containing(line); line > 0 && st != nil {
			list = append(list, Saying{line, statementText(st)})
		}
	}
	return list
}

// statementText says a statement, or what stands in the script where no words say it.
func statementText(st *sentence.Statement) string {
	if st.ByHand() {
		return strings.TrimSpace(st.Text)
	}
	var texts []string
	for _, x := range st.Sentences {
		texts = append(texts, x.Text())
	}
	return strings.Join(texts, " ")
}
