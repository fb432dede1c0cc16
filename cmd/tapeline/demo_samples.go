package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"tapeline/api/workroom"
	"tapeline/service/orders"
)

// sampleBody is the measurements of an invented customer in cm.
const sampleBody = `"height": 168, "bust_girth": 94.5, "under_bust_girth": 79, "waist_girth": 76, "hip_girth": 102,
  "neck_base_girth": 37.5, "shoulder_length": 12.6, "back_width": 35.5, "nape_to_waist": 42, "waist_to_hip": 20.5,
  "upper_arm_girth": 29, "wrist_girth": 16`

// demoSample is an order that shows the workroom a state. No sample has failed: an
// order fails only by a fault of the program.
type demoSample struct {
	reference string
	body      string // the rest of the order's JSON
	status    orders.Status
	progress  []orders.Progress // steps after the draft
	due       int               // days from today; 0 for no due date
}

func demoSamples() []demoSample {
	return []demoSample{
		{"SAMPLE-1", `"customer": {"reference": "C-81", "name": "Orla Penhallow"}, "unit": "cm",
			"measurements": {` + sampleBody + `, "arm_length": 59}, "style": "shift-dress",
			"choices": {"sleeve": "short", "pockets": "yes"}`, orders.Ready, nil, -2},
		{"SAMPLE-2", `"customer": {"reference": "C-82", "name": "Ines Varga"}, "unit": "inch",
			"measurements": {"waist_girth": 28.5, "hip_girth": 38, "waist_to_hip": 8.25},
			"style": "straight-skirt"`, orders.Ready, nil, 4},
		{"SAMPLE-3", `"customer": {"reference": "C-83", "name": "Tove Lindqvist"}, "unit": "cm",
			"measurements": {` + sampleBody + `, "arm_length": 58.5}, "block": "torso"`, orders.Ready,
			[]orders.Progress{orders.Cut}, 1},
		{"SAMPLE-4", `"customer": {"reference": "C-84", "name": "Beatriz Noor"}, "unit": "cm",
			"measurements": {` + sampleBody + `, "arm_length": 60}, "style": "knit-top"`, orders.Ready,
			[]orders.Progress{orders.Cut, orders.Shipped}, 0},
		{"SAMPLE-5", `"customer": {"reference": "C-85", "name": "Hale Okonjo"}, "unit": "cm",
			"measurements": {` + sampleBody + `, "arm_length": 85}, "style": "princess-dress"`, orders.Held, nil, 9},
	}
}

// addSamples adds the sample orders that the shop does not have.
func (d *demo) addSamples(ctx context.Context) error {
	for _, s := range demoSamples() {
		if err := d.addSample(ctx, s); err != nil {
			return fmt.Errorf("sample order %s: %w", s.reference, err)
		}
	}
	return nil
}

func (d *demo) addSample(ctx context.Context, s demoSample) error {
	var found struct{ Items []struct{ ID string } }
	if err := d.call(ctx, http.MethodGet, "/v1/orders?reference="+url.QueryEscape(s.reference), d.shop, nil,
		&found); err != nil || len(found.Items) > 0 {
		return err
	}
	var placed struct{ ID string }
	due := ""
	if s.due != 0 {
		due = fmt.Sprintf(`"due_date": %q, `, time.Now().AddDate(0, 0, s.due).Format(time.DateOnly))
	}
	body := fmt.Sprintf(`{"reference": %q, %s%s}`, s.reference, due, s.body)
	if err := d.call(ctx, http.MethodPost, "/v1/orders", d.shop, []byte(body), &placed); err != nil {
		return err
	}
	if err := d.awaitStatus(ctx, placed.ID, s.status); err != nil {
		return err
	}
	for _, p := range s.progress {
		body, err := json.Marshal(map[string]any{"progress": p})
		if err != nil {
			return err
		}
		if err := d.call(ctx, http.MethodPost, "/v1/orders/"+placed.ID+"/progress", d.staff, body, nil); err != nil {
			return err
		}
	}
	fmt.Fprintf(d.out, "added sample order %s: %s\n", s.reference, s.status)
	return nil
}

// awaitStatus waits until an order is no longer being drafted.
func (d *demo) awaitStatus(ctx context.Context, id string, want orders.Status) error {
	ctx, cancel := context.WithTimeout(ctx, demoWait)
	defer cancel()
	for {
		var order struct{ Status orders.Status }
		if err := d.call(ctx, http.MethodGet, "/v1/orders/"+id, d.shop, nil, &order); err != nil {
			return err
		}
		switch order.Status {
		case want:
			return nil
		case orders.Received:
		default:
			return fmt.Errorf("the order is %s, want %s", order.Status, want)
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("the order is still %s after %s", order.Status, demoWait)
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// invite says where to look in a browser.
func (d *demo) invite() {
	fmt.Fprintf(d.out, `
In a browser:

workroom       %s%s
key to sign in %s
API            %s/docs
`, d.base, workroom.Root, d.staff, d.base)
}
