package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"tapeline/api"
)

// How often a refit at work is looked at, and how often a line says so where
// there is no terminal.
const (
	lookEvery = 500 * time.Millisecond
	sayEvery  = 5 * time.Second
)

// follow waits until a refit is no longer at work, and shows it.
func (r *refitCommand) follow(ctx context.Context, id api.ID, stdout, stderr io.Writer) error {
	bar := progressBar{to: stderr, terminal: isTerminal(stderr)}
	for {
		var v api.Refit
		if err := r.client.call(ctx, "GET", "/v1/refits/"+id.String(), nil, &v); err != nil {
			bar.end()
			if ctx.Err() != nil {
				return fmt.Errorf("no longer looking; the refit goes on: tapeline refit show %s", id)
			}
			return err
		}
		if v.Status != api.RefitStatusPreviewing && v.Status != api.RefitStatusApplying {
			bar.end()
			return printRefit(stdout, v)
		}
		bar.show(string(v.Status), v.Work, time.Now())
		select {
		case <-time.After(lookEvery):
		case <-ctx.Done():
		}
	}
}

// isTerminal tells whether a person watches.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// progressBar is a line that is written over on a terminal; elsewhere now and
// then a line of its own.
type progressBar struct {
	to       io.Writer
	terminal bool
	said     time.Time
	open     bool
}

// barWidth is how many signs the bar has.
const barWidth = 30

func (b *progressBar) show(doing string, p api.RefitWork, now time.Time) {
	left := ""
	if p.SecondsLeft > 0 {
		left = ", " + (time.Duration(p.SecondsLeft) * time.Second).String() + " left"
	}
	count := fmt.Sprintf("%d of %d orders, %.0f a second%s", p.Done, p.Total, p.Rate, left)
	switch {
	case b.terminal:
		full := 0
		if p.Total > 0 {
			full = p.Done * barWidth / p.Total
		}
		fmt.Fprintf(b.to, "\r%s [%s%s] %s\x1b[K", doing, strings.Repeat("#", full), strings.Repeat(".", barWidth-full), count)
		b.open = true
	case now.Sub(b.said) >= sayEvery:
		fmt.Fprintf(b.to, "%s: %s\n", doing, count)
		b.said = now
	}
}

// end leaves the bar's line.
func (b *progressBar) end() {
	if b.open {
		fmt.Fprintln(b.to)
		b.open = false
	}
}

func (r *refitCommand) show(ctx context.Context, stdout io.Writer) error {
	var v api.Refit
	if err := r.client.call(ctx, "GET", "/v1/refits/"+r.of[0], nil, &v); err != nil {
		return err
	}
	if err := printRefit(stdout, v); err != nil || r.finding == "" {
		return err
	}
	t := tabwriter.NewWriter(stdout, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "\nREFERENCE\tORDER\tLARGEST\tPAGES\tOUTCOME\tWHY")
	path := "/v1/refits/" + r.of[0] + "/orders?limit=100&preview=" + r.finding
	for cursor := ""; ; {
		var page api.RefitOrderList
		if err := r.client.call(ctx, "GET", path+cursor, nil, &page); err != nil {
			return err
		}
		for _, o := range page.Items {
			printRefitOrder(t, o)
		}
		if page.NextCursor == "" {
			return t.Flush()
		}
		cursor = "&cursor=" + page.NextCursor
	}
}

func printRefitOrder(w io.Writer, o api.RefitOrder) {
	var why, pages, largest string
	for _, reason := range o.Reasons {
		why += "; " + reason.Detail
	}
	if o.Preview == api.RefitPreviewChanges && len(o.Comparison.Pieces) > 0 {
		largest = fmt.Sprintf("%.1f mm", o.Comparison.Largest)
		pages = fmt.Sprintf("%d to %d", o.Comparison.Pages.From, o.Comparison.Pages.To)
	}
	fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", o.Reference, o.OrderID, largest, pages, o.Outcome, strings.TrimPrefix(why,
		"; "))
}

func (r *refitCommand) list(ctx context.Context, stdout io.Writer) error {
	var page api.RefitList
	if err := r.client.call(ctx, "GET", "/v1/refits", nil, &page); err != nil {
		return err
	}
	t := tabwriter.NewWriter(stdout, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "ID\tBEGUN\tSTATE\tORDERS\tWHY")
	for _, v := range page.Items {
		fmt.Fprintf(t, "%s\t%s\t%s\t%d\t%s\n", v.ID, v.CreatedAt.Local().Format("2006-01-02 15:04"), v.Status, v.Orders,
			v.Reason)
	}
	return t.Flush()
}

// printRefit says what a refit is, how far it is and what moves.
func printRefit(w io.Writer, v api.Refit) error {
	fmt.Fprintf(w, "refit %s: %s, %d orders: %s\n", v.ID, v.Status, v.Orders, v.Reason)
	if v.ArrivedSince > 0 {
		fmt.Fprintf(w, "%d orders came since that are not in it\n", v.ArrivedSince)
	}
	if p := v.Work; p.Total > 0 {
		fmt.Fprintf(w, "%d of %d done, %.0f a second\n", p.Done, p.Total, p.Rate)
	}
	counts(w, "found", v.Previews, []string{"changes", "unchanged", "undraftable", "held", "failed", "left_alone",
		"waiting"})
	counts(w, "outcome", v.Outcomes, []string{"revised", "chosen", "unchanged", "undraftable", "held", "failed",
		"left_alone", "declined", "stopped"})
	if len(v.Moves.Histogram) == 0 {
		return nil
	}
	m := v.Moves
	fmt.Fprintf(w, "\nlargest move of an order: half within %.1f mm, nine in ten within %.1f mm, all within %.1f mm\n",
		m.Median, m.P90, m.Largest)
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	most := slices.MaxFunc(m.Histogram, func(a, b api.MoveCount) int { return a.Count - b.Count }).Count
	for _, c := range m.Histogram {
		span := fmt.Sprintf("%s to %s mm", limit(c.Min), limit(c.Max))
		if c.Max == 0 {
			span = fmt.Sprintf("%s mm and more", limit(c.Min))
		}
		bar := ""
		if c.Count > 0 {
			bar = "\t" + strings.Repeat("#", (c.Count*barWidth+most-1)/most)
		}
		fmt.Fprintf(t, "  %s\t%d%s\n", span, c.Count, bar)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if len(m.Orders) > 0 {
		fmt.Fprintln(w, "\nmost moved")
	}
	for _, o := range m.Orders {
		if len(o.Comparison.Pieces) == 0 {
			continue // erased
		}
		p := slices.MaxFunc(o.Comparison.Pieces, func(a, b api.PieceMove) int { return int(1000 * (a.Largest - b.Largest)) })
		fmt.Fprintf(t, "  %s\t%.1f mm\t%s\t%s\n", o.Reference, p.Largest, p.Name, o.OrderID)
	}
	return t.Flush()
}

func counts(w io.Writer, what string, n map[string]int, names []string) {
	var parts []string
	for _, name := range names {
		if n[name] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[name], strings.ReplaceAll(name, "_", " ")))
		}
	}
	if len(parts) > 0 {
		fmt.Fprintf(w, "%s: %s\n", what, strings.Join(parts, ", "))
	}
}

// limit formats a limit of the histogram.
func limit(mm float64) string { return strconv.FormatFloat(mm, 'f', -1, 64) }
