package block

import (
	"fmt"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/pattern"
)

// refuse returns an error that the block can't be drafted to this body, with
// the reason and the measurements to check again.
func refuse(why string, names ...body.Name) error {
	if len(names) == 0 {
		return fault.List{{Code: fault.Undraftable, Accepted: why}}
	}
	var l fault.List
	for _, n := range names {
		l = append(l, fault.Fault{Code: fault.Undraftable, Field: body.Field(n), Accepted: why})
	}
	return l
}

// refuseChoice returns an error that a choice can't be combined with the other
// choices or the body.
func refuseChoice(choice, value, why string) error {
	return fault.List{{Code: fault.Undraftable, Field: "/choices/" + choice, Value: value, Accepted: why}}
}

// A CheckError says that a draft does not measure what it should. It is a
// defect of the block, not of the input.
type CheckError struct {
	Failed []pattern.Check
	Broken []string // rules of the outline that do not hold
}

func (e *CheckError) Error() string {
	var parts []string
	for _, c := range e.Failed {
		parts = append(parts, fmt.Sprintf("%s drafted %.2f mm, target %.2f mm", c.Name, c.Drafted, c.Target))
	}
	return "draft does not measure back: " + strings.Join(append(parts, e.Broken...), "; ")
}
