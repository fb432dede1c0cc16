package api

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"
)

func TestLargeBodiesTakeTurns(t *testing.T) {
	t.Parallel()
	a := newAdmission()
	one, two, three := uuid.New(), uuid.New(), uuid.New()
	if !a.enter(t.Context(), one) || !a.enter(t.Context(), two) {
		t.Fatal("the first two were refused")
	}
	if a.enter(t.Context(), one) {
		t.Error("a shop has two places")
	}
	gone, cancel := context.WithTimeout(t.Context(), time.Millisecond)
	defer cancel()
	if a.enter(gone, three) {
		t.Error("three are in memory at once")
	}
	a.leave(two)
	if !a.enter(t.Context(), three) { // its earlier try must not count
		t.Error("refused though there is room")
	}
	a.leave(one)
	if !a.enter(t.Context(), one) {
		t.Error("a shop that is done is refused")
	}
}
