package style

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/pattern"
)

// A Finding is something in a style that works but is hardly meant.
type Finding struct {
	Rule  string `json:"rule"`           // choice_unused, choice_unknown, allowance_unsaid, seam_unpaired
	Line  int    `json:"line,omitempty"` // in the script
	Piece string `json:"piece,omitempty"`
	Edge  string `json:"edge,omitempty"`
	Why   string `json:"why"`
}

// LintScript reads the script alone: choices that it declares and never looks
// at.
func (s *Style) LintScript() []Finding {
	looked := map[string]bool{}
	syntax.Walk(s.file, func(n syntax.Node) bool {
		switch n := n.(type) {
		case *syntax.DotExpr:
			looked[n.Name.Name] = true
		case *syntax.IndexExpr:
			if l, ok := n.Y.(*syntax.Literal); ok {
				if name, ok := l.Value.(string); ok {
					looked[name] = true
				}
			}
		}
		return true
	})
	var found []Finding
	for _, c := range s.Head.Choices {
		if !looked[c.Name] {
			found = append(found, Finding{Rule: "choice_unused", Line: s.LineOf(c.Name), Why: fmt.Sprintf("the choice %s is offered, but the script never looks at it", c.Name)})
		}
	}
	return found
}

// LineOf is the line on which a name first stands in quotes, 0 for none.
func (s *Style) LineOf(name string) int {
	i := strings.Index(s.source, `"`+name+`"`)
	if i < 0 {
		return 0
	}
	return 1 + strings.Count(s.source[:i], "\n")
}

// LintDraft reads a garment as drafted: edges for which no allowance was said,
// and edges to be sewn that are in no seam. What breaks a rule of every draft
// is an error of Draft, not a finding.
func LintDraft(p pattern.Pattern) []Finding {
	sewn := map[pattern.EdgeRef]bool{}
	for _, m := range p.Seams {
		sewn[m.A], sewn[m.B] = true, true
	}
	var found []Finding
	add := func(f Finding) {
		if !slices.Contains(found, f) {
			found = append(found, f)
		}
	}
	for _, q := range p.Pieces {
		for _, e := range q.Edges {
			if e.Role == pattern.RoleFold || e.Role == pattern.RoleDartMouth {
				continue
			}
			if _, said := p.Allowances[string(e.Role)]; !said && e.Allowance == nil {
				if _, any := p.Allowances["default"]; !any {
					add(Finding{Rule: "allowance_unsaid", Piece: q.Name, Edge: e.Run, Why: fmt.Sprintf("no allowance is said for %s/%s, nor for a %s at all", q.Name, e.Run, e.Role)})
				}
			}
			if sewn[pattern.EdgeRef{Piece: q.Name, Edge: e.Name}] {
				continue
			}
			switch e.Role {
			case pattern.RoleSeam, pattern.RoleCap:
				add(Finding{Rule: "seam_unpaired", Piece: q.Name, Edge: e.Run, Why: fmt.Sprintf("%s/%s is to be sewn, but to nothing; an edge finished by itself has the role edge", q.Name, e.Run)})
			case pattern.RoleNeckline, pattern.RoleArmhole:
				if e.Allowance == nil {
					add(Finding{Rule: "seam_unpaired", Piece: q.Name, Edge: e.Run, Why: fmt.Sprintf("%s/%s is sewn to nothing; where it is bound or turned, say its allowance", q.Name, e.Run)})
				}
			}
		}
	}
	return found
}
