package finish

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/fault"
	"tapeline/drafting/pattern"
)

// Default allowances, mm (common practice: seams 10 to 15, hems 20 to 50), and
// the widest one accepted.
const (
	DefaultAllowance = 10.0
	DefaultHem       = 30.0
	MaxAllowance     = pattern.MaxAllowance
)

// Rules holds a shop's rules for finishing.
type Rules struct {
	// Allowances are in mm. The key is an edge of one piece ("back/neckline"), an
	// edge of every piece ("neckline"), a role ("seam", "hem", "neckline",
	// "armhole", "cap", "edge") or "default"; the first of these that is present
	// decides. An edge in parts is named by a part ("side_1") or the whole
	// ("side"). A style's allowance for one edge precedes roles and default; its
	// allowances by role follow them. Without any, a hem has DefaultHem and every
	// other edge DefaultAllowance. A fold has none; a dart's mouth has that of the
	// edge beside it.
	Allowances map[string]float64

	style map[string]float64 // the pattern's allowances, by role or "default"
}

// allowanceRoles are the roles that a rule may name.
var allowanceRoles = [...]pattern.Role{
	pattern.RoleSeam, pattern.RoleHem, pattern.RoleNeckline, pattern.RoleArmhole, pattern.RoleCap, pattern.RoleEdge,
}

// allowance returns the allowance of an edge that is neither a fold nor a
// mouth, mm.
func (r Rules) allowance(piece string, e pattern.Edge) float64 {
	for _, key := range [...]string{piece + "/" + e.Name, piece + "/" + e.Run, e.Name, e.Run} {
		if mm, ok := r.Allowances[key]; ok {
			return mm
		}
	}
	if e.Allowance != nil {
		return *e.Allowance
	}
	for _, rules := range [...]map[string]float64{r.Allowances, r.style} {
		if mm, ok := rules[string(e.Role)]; ok {
			return mm
		}
		// A default for seams does not change the hem.
		if mm, ok := rules["default"]; ok && e.Role != pattern.RoleHem {
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

// check returns a fault for each rule that names nothing in the pattern, names
// an edge without an allowance, or is out of range.
func (r Rules) check(p pattern.Pattern) fault.List {
	named := map[string]pattern.Role{"default": pattern.RoleSeam}
	for _, role := range allowanceRoles {
		named[string(role)] = role
	}
	for _, piece := range p.Pieces {
		for _, e := range piece.Edges {
			for _, name := range [...]string{e.Name, e.Run} {
				named[piece.Name+"/"+name] = e.Role
				if old, ok := named[name]; !ok || !takesAllowance(old) {
					named[name] = e.Role
				}
			}
		}
	}
	known := slices.DeleteFunc(slices.Sorted(maps.Keys(named)),
		func(key string) bool { return !takesAllowance(named[key]) })
	var faults fault.List
	for _, key := range slices.Sorted(maps.Keys(r.Allowances)) {
		field, mm := fault.Pointer("allowances", key), r.Allowances[key]
		if role, ok := named[key]; !ok {
			f := fault.UnknownName(field, key, "edge", known)
			if fault.Nearest(key, known) == "" {
				f.Accepted = "unknown edge; known are " + strings.Join(known, ", ")
			}
			faults = append(faults, f)
		} else if !takesAllowance(role) && mm != 0 {
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: field, Value: fault.Shorten(key),
				Accepted: noAllowance[role]})
		}
		if !(mm >= 0 && mm <= MaxAllowance) {
			faults = append(faults, fault.Fault{
				Code: fault.Range, Field: field, Value: fmt.Sprintf("%g mm", mm),
				Accepted: fmt.Sprintf("an allowance from 0 to %g mm", MaxAllowance),
			})
		}
	}
	return faults
}

// noAllowance says why an edge of a role has no allowance.
var noAllowance = map[pattern.Role]string{
	pattern.RoleFold:      "lies on the fold, which takes no allowance",
	pattern.RoleDartMouth: "is the mouth of a dart, which has the allowance of the edge beside it",
}
