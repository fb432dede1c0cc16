package webhooks

import (
	"io"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
)

func TestWhatFollowsAnAttempt(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		out    Outcome
		tries  int
		status string
		wait   time.Duration
	}{
		"delivered":            {Outcome{Status: 204}, 1, messageDelivered, 0},
		"refused":              {Outcome{Status: 500}, 1, messagePending, 5 * time.Second},
		"no answer":            {Outcome{Err: io.EOF}, 2, messagePending, 5 * time.Minute},
		"asks for longer":      {Outcome{Status: 429, RetryAfter: time.Hour}, 1, messagePending, time.Hour},
		"asks for less":        {Outcome{Status: 429, RetryAfter: time.Second}, 2, messagePending, 5 * time.Minute},
		"asks for far longer":  {Outcome{Status: 503, RetryAfter: 99 * time.Hour}, 1, messagePending, maxWait},
		"gone":                 {Outcome{Status: 410}, 1, messageDead, 0},
		"forbidden address":    {Outcome{Refused: true}, 1, messagePending, 5 * time.Second},
		"end of the schedule":  {Outcome{Status: 500}, len(schedule), messageDead, 0},
		"delivered at the end": {Outcome{Status: 200}, len(schedule), messageDelivered, 0},
	} {
		if status, wait := next(tt.out, tt.tries, 0); status != tt.status || wait != tt.wait {
			t.Errorf("%s: %s after %v, want %s after %v", name, status, wait, tt.status, tt.wait)
		}
	}
}

func TestSharesLeaveRoomForOthers(t *testing.T) {
	t.Parallel()
	s := newShares(256)
	message := func(shop, endpoint uuid.UUID) db.ClaimedMessage {
		var m db.ClaimedMessage
		m.ID, m.ShopID, m.EndpointID = uuid.New(), shop, endpoint
		return m
	}
	// Eight shops whose ten endpoints each never answer take what they may, one
	// after the other.
	for range 8 {
		shop := uuid.New()
		for range 10 {
			endpoint := uuid.New()
			for {
				free, endpoints, shops := s.room()
				if free == 0 || slices.Contains(shops, shop) || slices.Contains(endpoints, endpoint) {
					break
				}
				s.enter(message(shop, endpoint))
			}
		}
	}
	free, _, shops := s.room()
	if free == 0 {
		t.Fatal("no worker is left for the shop that comes next")
	}
	late := message(uuid.New(), uuid.New())
	s.enter(late)
	if s.enter(late) {
		t.Error("a message under way entered again")
	}
	if _, _, after := s.room(); len(after) < len(shops) {
		t.Errorf("%d shops have their share, %d before", len(after), len(shops))
	}
	s.leave(late)
	if again, _, _ := s.room(); again != free {
		t.Errorf("%d workers free after a delivery ended, want %d", again, free)
	}
}
