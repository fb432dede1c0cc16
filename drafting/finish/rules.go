package finish

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/fault"
	"tapeline/drafting/pattern"
)

// Allowances that hold where the rules name no other, mm (common practice:
// seams 10 to 15, hems 20 to 50), and the widest accepted.
const (
	DefaultAllowance = 10.0
	DefaultHem       = 30.0
	MaxAllowance     = 150.0
)

// Rules are a shop's rules for finishing.
type Rules struct {
	// Allowances are mm by what they apply to. The key is an edge of one piece
	// ("back/neckline"), an edge of every piece ("neckline"), a role ("seam",
	// "hem", "neckline", "armhole", "cap") or "default"; the first of these
	// that is there decides. Without any a hem gets DefaultHem and every other
	// edge DefaultAllowance. A fold gets none, a dart's mouth what the edge
	// beside it has.
	Allowances map[string]float64 `json:"allowances,omitempty"`
}

// allowanceRoles are the roles that a rule may name.
var allowanceRoles = [...]pattern.Role{
	pattern.RoleSeam, pattern.RoleHem, pattern.RoleNeckline, pattern.RoleArmhole, pattern.RoleCap,
}

// allowance is what the rules give to an edge that is neither fold nor mouth.
func (r Rules) allowance(piece string, e pattern.Edge) float64 {
	for _, key := range [...]string{piece + "/" + e.Name, e.Name, string(e.Role), "default"} {
		if key == "default" && e.Role == pattern.RoleHem {
			break // a shop that widens its seams has not asked for another hem
		}
		if mm, ok := r.Allowances[key]; ok {
			return mm
		}
	}
	if e.Role == pattern.RoleHem {
		return DefaultHem
	}
	return DefaultAllowance
}

// takesAllowance reports whether a rule may name an edge of the role.
func takesAllowance(r pattern.Role) bool {
	return r != pattern.RoleFold && r != pattern.RoleDartMouth
}

// check lists the rules that name nothing in the pattern or give an allowance
// out of range.
func (r Rules) check(p pattern.Pattern) fault.List {
	known := map[string]bool{"default": true}
	for _, role := range allowanceRoles {
		known[string(role)] = true
	}
	for _, piece := range p.Pieces {
		for _, e := range piece.Edges {
			if takesAllowance(e.Role) {
				known[e.Name], known[piece.Name+"/"+e.Name] = true, true
			}
		}
	}
	var faults fault.List
	for _, key := range slices.Sorted(maps.Keys(r.Allowances)) {
		field := fault.Pointer("allowances", key)
		mm := r.Allowances[key]
		if !known[key] {
			faults = append(faults, fault.Fault{
				Code: fault.Unknown, Field: field, Value: fault.Shorten(key),
				Accepted: "an edge that takes an allowance: " + strings.Join(slices.Sorted(maps.Keys(known)), ", "),
			})
		}
		if !(mm >= 0 && mm <= MaxAllowance) {
			faults = append(faults, fault.Fault{
				Code: fault.Range, Field: field, Value: fmt.Sprintf("%g mm", mm),
				Accepted: fmt.Sprintf("0 to %g mm", MaxAllowance),
			})
		}
	}
	return faults
}
