package refits

import (
	"errors"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service"
	"tapeline/service/orders"
)

// statuses lists every state of a refit.
var statuses = []Status{Previewing, ToDecide, Applying, Done, Stopped}

func TestOnlyAPreviewedRefitIsDecided(t *testing.T) {
	for _, s := range statuses {
		err := s.decidable()
		if s == ToDecide {
			if err != nil {
				t.Errorf("%s: %v", s, err)
			}
			continue
		}
		if refused, ok := errors.AsType[*service.Error](err); !ok || refused.Code != service.CodeWrongState {
			t.Errorf("%s: got %v, want %s", s, err, service.CodeWrongState)
		}
	}
}

func TestStoppable(t *testing.T) {
	for _, s := range statuses {
		stop, err := s.stoppable()
		if want := s != Done && s != Stopped; stop != want {
			t.Errorf("%s is stopped: %v, want %v", s, stop, want)
		}
		if (err != nil) != (s == Done) {
			t.Errorf("%s: %v", s, err)
		}
	}
}

func TestLeave(t *testing.T) {
	byRequest, implausible := string(orders.ByRequest), string(orders.Implausible)
	for name, c := range map[string]struct {
		status   orders.Status
		reason   *string
		progress orders.Progress
		named    bool
		want     orders.Reason
	}{
		"ready":               {orders.Ready, nil, orders.Uncut, false, ""},
		"held by request":     {orders.Held, &byRequest, orders.Uncut, false, ""},
		"held for its body":   {orders.Held, &implausible, orders.Uncut, true, leftState},
		"received":            {orders.Received, nil, orders.Uncut, false, leftState},
		"failed":              {orders.Failed, nil, orders.Uncut, true, leftState},
		"cancelled":           {orders.Cancelled, &byRequest, orders.Uncut, false, leftState},
		"cut":                 {orders.Ready, nil, orders.Cut, false, leftCut},
		"cut and named":       {orders.Ready, nil, orders.Cut, true, ""},
		"shipped":             {orders.Ready, nil, orders.Shipped, false, leftShipped},
		"shipped and named":   {orders.Ready, nil, orders.Shipped, true, ""},
		"cancelled and named": {orders.Cancelled, nil, orders.Shipped, true, leftState},
	} {
		if got := reasonOf(leave(c.status, c.reason, c.progress, c.named)); got != c.want {
			t.Errorf("%s: got %q, want %q", name, got, c.want)
		}
	}
}

func TestChangedSince(t *testing.T) {
	refit, other := uuid.New(), uuid.New()
	previewed := db.RefitInput{BasisRevision: new(2), BasisRequest: new(3)}
	now := func(revision, request int, status orders.Status, by *uuid.UUID) db.LockedOrder {
		return db.LockedOrder{Status: string(status), Revision: revision, DraftRequest: request,
			Progress: string(orders.Uncut), LastRefit: by}
	}
	for name, c := range map[string]struct {
		in   db.RefitInput
		now  db.LockedOrder
		want orders.Reason
	}{
		"as previewed":          {previewed, now(2, 3, orders.Ready, nil), ""},
		"revised":               {previewed, now(3, 4, orders.Ready, nil), leftChanged},
		"requested again":       {previewed, now(2, 4, orders.Ready, nil), leftChanged},
		"revised by a refit":    {previewed, now(3, 4, orders.Ready, &other), leftOtherRefit},
		"revised by this refit": {previewed, now(3, 4, orders.Ready, &refit), leftChanged},
		"cancelled":             {previewed, now(2, 3, orders.Cancelled, nil), leftState},
		"never compared":        {db.RefitInput{}, now(2, 3, orders.Ready, nil), leftChanged},
		"by a refit, unrevised": {previewed, now(2, 3, orders.Ready, &other), ""},
	} {
		if got := reasonOf(changedSince(c.in, c.now, refit, false)); got != c.want {
			t.Errorf("%s: got %q, want %q", name, got, c.want)
		}
	}
}

func reasonOf(n *notRedrafted) orders.Reason {
	if n == nil {
		return ""
	}
	return n.reason
}

func TestProgress(t *testing.T) {
	start := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	figures := db.RefitFigures{Findings: map[string]int{findingWaiting: 60}, Outcomes: map[string]int{outcomeChosen: 30},
		Applied: 10, Previews: 40, Settled: 10}
	for _, s := range statuses {
		got := progress(Refit{Status: s, Orders: 100, CreatedAt: start, DecidedAt: &start}, figures, start.Add(5*time.Second))
		var want *Progress
		switch s {
		case Previewing: // 40 of 100 in 5 s
			want = &Progress{Done: 40, Total: 100, PerSecond: 8, Left: 8 * time.Second} // 60 at 8 a second: 7.5 s
		case Applying: // 10 of 40 in 5 s
			want = &Progress{Done: 10, Total: 40, PerSecond: 2, Left: 15 * time.Second}
		}
		if (got == nil) != (want == nil) || got != nil && *got != *want {
			t.Errorf("%s: got %+v, want %+v", s, got, want)
		}
	}
}

func TestEveryReasonHasASentence(t *testing.T) {
	for _, r := range []orders.Reason{leftNotInScope, leftCut, leftShipped, leftNoDraft, leftState, leftChanged,
		leftOtherRefit, leftErased} {
		if reasonDetail(r) == "" {
			t.Errorf("%s has none", r)
		}
	}
}

func TestChangeNarrowsTheScope(t *testing.T) {
	customer, set := uuid.New(), uuid.New()
	for name, c := range map[string]struct {
		change Change
		holds  func(db.RefitScope) bool
	}{
		"style from a revision": {Change{Style: &StyleChange{Style: "s", From: 2, To: 3, Hash: "ab"}},
			func(s db.RefitScope) bool { return s.Styles[0] == "s" && *s.StyleRevision == 2 && s.NotScript == nil }},
		"style from any": {Change{Style: &StyleChange{Style: "s", To: 3, Hash: "ab"}},
			func(s db.RefitScope) bool { return s.StyleRevision == nil && s.NotScript[0] == 0xab }},
		"fit of a block": {Change{Fit: &FitChange{Block: "torso", From: "close", To: "regular"}},
			func(s db.RefitScope) bool { return s.Blocks[0] == "torso" && *s.Fit == "close" && s.Styles == nil }},
		"set from any": {Change{Measurements: &MeasurementsChange{CustomerID: customer, To: set}},
			func(s db.RefitScope) bool { return *s.CustomerID == customer && s.Set == nil && *s.NotSet == set }},
		"engine": {Change{Engine: &EngineChange{}},
			func(s db.RefitScope) bool { return s.Blocks == nil && s.Styles == nil && s.CustomerID == nil }},
	} {
		var scope db.RefitScope
		c.change.narrow(&scope)
		if !c.holds(scope) {
			t.Errorf("%s: %+v", name, scope)
		}
	}
}
