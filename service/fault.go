package service

import "tapeline/drafting/fault"

// Fault is one thing wrong with an input, Faults all of them. They are the
// types of package fault under the names that package api uses.
type (
	Fault     = fault.Fault
	Faults    = fault.List
	FaultCode = fault.Code
)
