package style

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/lettering"
	"tapeline/drafting/pattern"
)

// A Finding reports something in a style that works but is probably a mistake.
type Finding struct {
	// Rule is choice_unused, print_left, allowance_unsaid, seam_unpaired, opening_unsaid,
	// letters_missing or not_drafted.
	Rule   string `json:"rule"`
	Line   int    `json:"line,omitempty"` // in the script
	Piece  string `json:"piece,omitempty"`
	Edge   string `json:"edge,omitempty"`
	Detail string `json:"detail"`
}

// LintScript reports the choices that the script declares and never uses, and
// what it prints.
func (s *Style) LintScript() []Finding {
	used := map[string]bool{}
	var findings []Finding
	s.walk(func(n syntax.Node) bool {
		switch n := n.(type) {
		case *syntax.CallExpr:
			if f, ok := n.Fn.(*syntax.Ident); ok && f.Name == "print" {
				findings = append(findings, Finding{Rule: "print_left", Line: int(f.NamePos.Line),
					Detail: "print writes only at the command line; remove it from a finished style"})
			}
		case *syntax.DotExpr:
			used[n.Name.Name] = true
		case *syntax.IndexExpr:
			if l, ok := n.Y.(*syntax.Literal); ok {
				if name, ok := l.Value.(string); ok {
					used[name] = true
				}
			}
		}
		return true
	})
	for _, c := range s.Head.Choices {
		if !used[c.Name] {
			findings = append(findings, Finding{Rule: "choice_unused", Line: s.LineOf(c.Name),
				Detail: fmt.Sprintf("the choice %s is declared but never used", c.Name)})
		}
	}
	return findings
}

// walk calls visit for the nodes of the script as written. It parses the script
// again: its tree takes more memory than all else of a style.
func (s *Style) walk(visit func(syntax.Node) bool) {
	if file, err := dialect.Parse(fileName, s.source, 0); err == nil { // as when it was compiled
		syntax.Walk(file, visit)
	}
}

// LineOf returns the first line with a name in quotes, 0 if there is none.
func (s *Style) LineOf(name string) int {
	i := strings.Index(s.source, `"`+name+`"`)
	if i < 0 {
		return 0
	}
	return 1 + strings.Count(s.source[:i], "\n")
}

// LintDraft reports edges of a drafted garment without a stated allowance, edges
// to be sewn that are in no seam, a garment without a declared opening, and texts with letters that the printed font
// lacks. A broken rule of every draft is an error of Draft, not a finding.
func (s *Style) LintDraft(p pattern.Pattern) []Finding {
	var findings []Finding
	add := func(rule string, q pattern.Piece, run, format string, args ...any) {
		f := Finding{Rule: rule, Line: s.lineOfPiece(q.Name), Piece: q.Name, Edge: run, Detail: fmt.Sprintf(format, args...)}
		if !slices.Contains(findings, f) {
			findings = append(findings, f)
		}
	}
	for _, q := range p.Pieces {
		for _, e := range q.Edges {
			if e.Role == pattern.RoleFold || e.Role == pattern.RoleDartMouth {
				continue
			}
			name := q.Name + "/" + e.Run
			if !hasAllowance(p, e) {
				add("allowance_unsaid", q, e.Run, "%s has no allowance of its own, and neither has the role %s", name, e.Role)
			}
			switch {
			case isSewn(p.Seams, q, e):
			case mustBeSewn(e):
				add("seam_unpaired", q, e.Run, "%s", unsewnReason(q, e))
			case (e.Role == pattern.RoleNeckline || e.Role == pattern.RoleArmhole) && e.Allowance == nil:
				add("seam_unpaired", q, e.Run, "%s is in no seam; if it is bound or turned, state its allowance", name)
			}
		}
	}
	if !slices.ContainsFunc(p.Checks, func(c pattern.Check) bool { return c.AtLeast }) {
		findings = append(findings, Finding{Rule: "opening_unsaid", Line: int(s.make.Position().Line),
			Detail: "no opening is declared with let_pass: nobody knows whether the garment can be put on"})
	}
	return append(findings, s.lintLetters(p)...)
}

// lintLetters reports texts of a drafted garment that the printed font cannot set as
// they are written.
func (s *Style) lintLetters(p pattern.Pattern) []Finding {
	var findings []Finding
	lint := func(piece, what string, texts ...string) {
		for _, text := range texts {
			if font := lettering.Regular(); font.Spells(text) {
				findings = append(findings, Finding{Rule: "letters_missing", Line: s.LineOf(text), Piece: piece,
					Detail: fmt.Sprintf("the printed font lacks letters of %s %q; it is printed %q", what, text, font.Clean(text))})
			}
		}
	}
	lint("", "the title", s.Head.Title)
	for _, q := range p.Pieces {
		lint(q.Name, "the title", q.Title)
		lint(q.Name, "the note", q.Notes...)
		lint(q.Name, "the cloth", q.Cloth)
	}
	if i := p.Instructions; i != nil {
		lint("", "the instruction", slices.Concat(i.Cloths, i.Notions, i.Sewing, i.Cautions)...)
	}
	return findings
}

// Unsewn returns an error, an *Error, for the first edge that must be sewn and is
// in no seam; nil if there is none.
func Unsewn(pieces []pattern.Piece, seams []pattern.Seam) error {
	for _, q := range pieces {
		for _, e := range q.Edges {
			if mustBeSewn(e) && !isSewn(seams, q, e) {
				return &Error{Piece: q.Name, Edge: e.Run, Reason: unsewnReason(q, e)}
			}
		}
	}
	return nil
}

// mustBeSewn reports whether an edge has a role that only a seam gives a meaning.
func mustBeSewn(e pattern.Edge) bool { return e.Role == pattern.RoleSeam || e.Role == pattern.RoleCap }

func isSewn(seams []pattern.Seam, q pattern.Piece, e pattern.Edge) bool {
	ref := pattern.EdgeRef{Piece: q.Name, Edge: e.Name}
	return slices.ContainsFunc(seams, func(s pattern.Seam) bool { return s.A == ref || s.B == ref })
}

func unsewnReason(q pattern.Piece, e pattern.Edge) string {
	return fmt.Sprintf("%s/%s is an edge of role %s, but in no seam; give an edge finished by itself the role edge",
		q.Name, e.Run, e.Role)
}

// lineOfPiece returns the first line that names a piece as one of the block's, or
// otherwise in quotes; 0 if none does.
func (s *Style) lineOfPiece(name string) int {
	ofBlock, quoted := 0, 0
	s.walk(func(n syntax.Node) bool {
		switch n := n.(type) {
		case *syntax.DotExpr:
			if of, ok := n.X.(*syntax.Ident); ok && of.Name == "block" && n.Name.Name == name && ofBlock == 0 {
				ofBlock = int(n.Dot.Line)
			}
		case *syntax.Literal:
			if n.Value == name && quoted == 0 {
				quoted = int(n.TokenPos.Line)
			}
		}
		return true
	})
	return cmp.Or(ofBlock, quoted)
}

// hasAllowance reports whether an edge has an allowance of its own, by its role
// or by default.
func hasAllowance(p pattern.Pattern, e pattern.Edge) bool {
	_, role := p.Allowances[string(e.Role)]
	_, all := p.Allowances["default"]
	return e.Allowance != nil || role || all
}
