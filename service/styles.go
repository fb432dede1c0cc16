package service

// Where a style revision stands.
const (
	styleStateDraft     = "draft"     // can be tried out, takes no order
	styleStateProved    = "proved"    // drafted on many bodies without a failure
	styleStatePublished = "published" // takes orders
	styleStateRetired   = "retired"   // takes no new orders; those that have it keep it
)
