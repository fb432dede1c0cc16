package style

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/syntax"

	"tapeline/drafting/pattern"
)

// A Warning reports something in a style that works but is probably a mistake.
type Warning struct {
	Rule   string `json:"rule"`           // choice_unused, choice_unknown, allowance_unsaid, seam_unpaired
	Line   int    `json:"line,omitempty"` // in the script
	Piece  string `json:"piece,omitempty"`
	Edge   string `json:"edge,omitempty"`
	Detail string `json:"detail"`
}

// LintScript reports the choices that the script declares and never uses.
func (s *Style) LintScript() []Warning {
	used := map[string]bool{}
	syntax.Walk(s.file, func(n syntax.Node) bool {
		switch n := n.(type) {
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
	var warnings []Warning
	for _, c := range s.Head.Choices {
		if !used[c.Name] {
			warnings = append(warnings, Warning{Rule: "choice_unused", Line: s.LineOf(c.Name),
				Detail: fmt.Sprintf("the choice %s is declared but never used", c.Name)})
		}
	}
	return warnings
}

// LineOf returns the first line with a name in quotes, 0 if there is none.
func (s *Style) LineOf(name string) int {
	i := strings.Index(s.source, `"`+name+`"`)
	if i < 0 {
		return 0
	}
	return 1 + strings.Count(s.source[:i], "\n")
}

// LintDraft reports edges of a drafted garment without a stated allowance, and
// edges to be sewn that are in no seam. A broken rule of every draft is an error
// of Draft, not a warning.
func LintDraft(p pattern.Pattern) []Warning {
	sewn := map[pattern.EdgeRef]bool{}
	for _, m := range p.Seams {
		sewn[m.A], sewn[m.B] = true, true
	}
	var warnings []Warning
	add := func(rule string, q pattern.Piece, e pattern.Edge, format string, args ...any) {
		w := Warning{Rule: rule, Piece: q.Name, Edge: e.Run, Detail: fmt.Sprintf(format, args...)}
		if !slices.Contains(warnings, w) {
			warnings = append(warnings, w)
		}
	}
	for _, q := range p.Pieces {
		for _, e := range q.Edges {
			if e.Role == pattern.RoleFold || e.Role == pattern.RoleDartMouth {
				continue
			}
			name := q.Name + "/" + e.Run
			if !hasAllowance(p, e) {
				add("allowance_unsaid", q, e, "%s has no allowance of its own, and neither has the role %s", name, e.Role)
			}
			if sewn[pattern.EdgeRef{Piece: q.Name, Edge: e.Name}] {
				continue
			}
			switch e.Role {
			case pattern.RoleSeam, pattern.RoleCap:
				add("seam_unpaired", q, e, "%s is a %s but in no seam; give an edge finished by itself the role edge",
					name, e.Role)
			case pattern.RoleNeckline, pattern.RoleArmhole:
				if e.Allowance == nil {
					add("seam_unpaired", q, e, "%s is in no seam; if it is bound or turned, state its allowance", name)
				}
			}
		}
	}
	return warnings
}

// hasAllowance reports whether an edge has an allowance of its own, by its role
// or by default.
func hasAllowance(p pattern.Pattern, e pattern.Edge) bool {
	_, role := p.Allowances[string(e.Role)]
	_, all := p.Allowances["default"]
	return e.Allowance != nil || role || all
}
