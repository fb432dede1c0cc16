package styles

import (
	"slices"
	"strings"

	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
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

// shapes returns what can be picked of a draft, each piece before its parts.
func shapes(p finish.Pattern, from []TriedOrigin) []Shape {
	var all []Shape
	add := func(q pattern.Piece, kind style.Kind, name string, length, intake float64) {
		i := slices.IndexFunc(from, func(o TriedOrigin) bool {
			return o.Piece == q.Name && o.Kind == string(kind) && o.Name == name
		})
		s := Shape{TriedOrigin: TriedOrigin{Piece: q.Name, Kind: string(kind), Name: name}, Length: length, Intake: intake,
			Said: said(q.Name, name)}
		if i >= 0 {
			s.TriedOrigin = from[i]
		}
		all = append(all, s)
	}
	for i := range p.Pieces {
		q := p.Pieces[i].Piece
		add(q, "", "", 0, 0)
		for _, run := range q.Runs() {
			add(q, style.KindEdge, run, q.RunLength(run), 0)
		}
		for _, d := range q.Darts {
			add(q, style.KindDart, d.Name, max(d.Legs[0].Length(), d.Legs[1].Length()), d.Intake())
		}
		for _, l := range q.Lines {
			add(q, style.KindLine, l.Name, l.Path.Length(), 0)
		}
		for _, m := range q.Marks {
			add(q, style.KindMark, m.Name, 0, 0)
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
