package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tapeline/api"
)

// The command takes a refit from preview to done, says what it finds, and says
// what is wrong as a person reads it. Not parallel: it sets the key.
func TestRefitCommand(t *testing.T) {
	s, _, _, replicas := faulty(t)
	t.Setenv("TAPELINE_API_KEY", s.key)
	t.Setenv("TAPELINE_API", replicas[0].base)
	ids := s.readyOrders(3)

	tapeline(t, "", "refit", "preview", "-block", "torso", "-fit", "regular", "-ease", "bust_girth=9").want(t, exitUsage,
		"-reason is required")
	tapeline(t, "", "refit", "preview", "-reason", "x").want(t, exitUsage, "exactly one change")
	tapeline(t, "", "refit", "mend").want(t, exitUsage, `unknown command "mend"`)
	tapeline(t, "", "refit", "show", "7").want(t, exitUsage, `"7" is not an ID`)
	tapeline(t, "", "refit", "preview", "-block", "torso", "-fit", "regular:tight", "-reason", "x").want(t, exitFaults,
		"/change/fit/to", "[invalid_input]")
	tapeline(t, "", "refit", "preview", "-block", "torso", "-fit", "close", "-reason", "x").want(t, exitFaults,
		"The scope contains no orders", "[scope_empty]")

	r := tapeline(t, "", "refit", "preview", "-block", "torso", "-fit", "regular", "-ease", "bust_girth=9", "-status",
		"ready", "-from", "2020-01-01", "-reason", "tight")
	r.want(t, exitDone, "3 orders", "to_decide", "found: 3 changes", "largest move of an order", "3 to 5 mm",
		"most moved", "F-0001")
	if strings.Contains(r.errOut, "\r") {
		t.Errorf("a bar is drawn where there is no terminal: %q", r.errOut)
	}
	id, _, _ := strings.Cut(strings.TrimPrefix(r.out, "refit "), ":")
	picture := filepath.Join(t.TempDir(), "moved.svg")
	tapeline(t, "", "refit", "picture", id, ids[0], "-o", picture).want(t, exitDone)
	if data, err := os.ReadFile(picture); err != nil || !bytes.Contains(data, []byte("piece-front-after")) {
		t.Errorf("picture: %v %.80s", err, data)
	}
	tapeline(t, "", "refit", "picture", id, ids[0]).want(t, exitUsage, "-o FILE.svg or FILE.pdf is required")
	tapeline(t, "", "refit", "decide", id).want(t, exitUsage, "must be -apply all")
	tapeline(t, "", "refit", "decide", id, "-apply", "some", "-order", ids[0]).want(t, exitDone, "done",
		"outcome: 1 revised, 2 declined")
	tapeline(t, "", "refit", "decide", id, "-apply", "all").want(t, exitFaults, "[wrong_state]")
	tapeline(t, "", "refit", "show", id, "-orders", "changes").want(t, exitDone, "REFERENCE", "F-0002", "declined",
		"revised")
	tapeline(t, "", "refit", "list").want(t, exitDone, id, "tight")
	tapeline(t, "", "refit", "stop", id).want(t, exitFaults, "[wrong_state]")
}

// readyOrders places orders and waits for their drafts.
func (s *shop) readyOrders(n int) []string {
	s.Helper()
	var ids []string
	for i := range n {
		reference := fmt.Sprintf("F-%04d", i+1)
		var o struct{ ID string }
		_ = json.Unmarshal(s.until(http.StatusCreated, "POST", "/v1/orders", fmt.Sprintf("%q", "key-"+reference),
			fmt.Sprintf(demoOrder, reference)), &o)
		ids = append(ids, o.ID)
	}
	for _, id := range ids {
		for deadline := time.Now().Add(2 * time.Minute); ; time.Sleep(20 * time.Millisecond) {
			var o struct{ Status string }
			_ = json.Unmarshal(s.until(http.StatusOK, "GET", "/v1/orders/"+id, "", ""), &o)
			if o.Status == "ready" {
				break
			}
			if time.Now().After(deadline) {
				s.Fatalf("order %s is %q", id, o.Status)
			}
		}
	}
	return ids
}

// A bar is written over on a terminal, and is a line now and then elsewhere.
func TestProgressBar(t *testing.T) {
	t.Parallel()
	p := api.RefitWork{Done: 5000, Total: 10000, Rate: 168.4, SecondsLeft: 90}
	var out bytes.Buffer
	bar := progressBar{to: &out, terminal: true}
	bar.show("applying", p, time.Now())
	bar.show("applying", api.RefitWork{}, time.Now())
	bar.end()
	if got := out.String(); !strings.HasPrefix(got, "\rapplying [###############...............] 5000 of 10000 "+
		"orders, 168 a second, 1m30s left\x1b[K\r") || !strings.HasSuffix(got, "\n") {
		t.Errorf("bar: %q", got)
	}
	out.Reset()
	bar = progressBar{to: &out}
	now := time.Now()
	for range 20 {
		bar.show("applying", p, now)
		now = now.Add(lookEvery)
	}
	bar.end()
	if got := strings.Count(out.String(), "\n"); got != 2 || strings.Contains(out.String(), "\r") {
		t.Errorf("%d lines in ten seconds: %q", got, out.String())
	}
}

const faultRefit = 60

// Both replicas are killed while they apply a refit, and one comes back: every
// order has one new draft and one message, and all their outcomes are
// known.
func TestRefitKilledWhileApplying(t *testing.T) {
	t.Parallel()
	s, r, pg, replicas := faulty(t)
	ids := s.readyOrders(faultRefit)
	var refit api.Refit
	body := `{"change":{"fit":{"block":"torso","from":"regular","to":"regular","unit":"cm",` +
		`"ease":{"bust_girth":9}}},"reason":"killed"}`
	_ = json.Unmarshal(s.until(http.StatusCreated, "POST", "/v1/refits", "", body), &refit)
	path := "/v1/refits/" + refit.ID.String()
	wait := func(states ...api.RefitStatus) (v api.Refit) {
		t.Helper()
		// a killed worker's job continues after half a minute or a whole one
		for deadline := time.Now().Add(4 * time.Minute); ; time.Sleep(100 * time.Millisecond) {
			v = api.Refit{}
			_ = json.Unmarshal(s.until(http.StatusOK, "GET", path, "", ""), &v)
			for _, state := range states {
				if v.Status == state {
					return v
				}
			}
			if time.Now().After(deadline) {
				t.Fatalf("the refit is %s: %+v", v.Status, v.Work)
			}
		}
	}
	wait(api.RefitStatusToDecide)
	s.until(http.StatusOK, "POST", path+"/decide", "", `{"apply":"all"}`)
	for v := (api.Refit{}); v.Outcomes["revised"] == 0; { // in the middle: the first batch is written
		_ = json.Unmarshal(s.until(http.StatusOK, "GET", path, "", ""), &v)
	}
	replicas[0].kill()
	replicas[1].kill()
	fresh := serve(t, pg.URL())
	s.bases[0].Store(fresh.base)
	s.bases[1].Store(fresh.base)
	v := wait(api.RefitStatusApplying, api.RefitStatusDone)
	t.Logf("when it came back the refit was %s: %v", v.Status, v.Outcomes)
	if v = wait(api.RefitStatusDone); v.Outcomes["revised"] != faultRefit {
		t.Errorf("outcomes: %v", v.Outcomes)
	}
	for _, id := range ids {
		var revisions api.DraftRevisionList
		_ = json.Unmarshal(s.until(http.StatusOK, "GET", "/v1/orders/"+id+"/revisions", "", ""), &revisions)
		if len(revisions.Items) != 2 || revisions.Items[0].PreviousRevision != 1 || revisions.Items[0].RefitID != refit.ID {
			t.Errorf("order %s has the drafts %+v", id, revisions.Items)
		}
	}
	for deadline := time.Now().Add(3 * time.Minute); ; time.Sleep(200 * time.Millisecond) {
		r.Lock()
		told, fault := len(r.revised), r.fault
		r.Unlock()
		if fault != "" {
			t.Fatal(fault)
		}
		if told == faultRefit {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("%d of %d orders were told revised", told, faultRefit)
		}
	}
}
