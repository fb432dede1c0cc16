package files

import (
	"context"
	"errors"
	"fmt"
	"io"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// AllGarments stands for every block and built-in style in a RandomRequest.
const AllGarments = "all"

// RandomRequest describes orders at random to prove a garment by.
type RandomRequest struct {
	Garment string       // a block, a style or AllGarments
	Script  *style.Style // the style, if it is not built in
	Count   int
	Seed    uint64
	Columns []string // measurement=column for columns with other names
}

// RandomPlan is a checked RandomRequest.
type RandomPlan struct {
	orders  proof.Random
	garment string
	renamed map[string]body.Name
	ignored []string

	// Progress is told how many of the drafts are done, by one goroutine at a time. It may be nil.
	Progress func(done, of int)
}

// maxRandom is the maximum number of orders: some hours' drafts.
const maxRandom = 10_000_000

// Plan checks a request and plans its orders, on the built-in panel of bodies.
// The error is a fault.List.
func (r RandomRequest) Plan() (*RandomPlan, error) {
	if r.Script != nil {
		r.Garment = r.Script.Head.Slug
	}
	names := []string{r.Garment}
	if r.Garment == AllGarments {
		names = nil
	}
	p := &RandomPlan{garment: r.Garment, orders: proof.NewRandom(r.Seed, r.Count, names, own(r.Script)...)}
	var faults, more fault.List
	if len(p.orders.Garments) == 0 {
		_, faults = drafting.FindBlock("/block", r.Garment)
	}
	if r.Count < 1 || r.Count > maxRandom {
		faults = append(faults, fault.Fault{Code: fault.Range, Field: "/random", Value: fmt.Sprint(r.Count),
			Accepted: fmt.Sprintf("1 to %d orders", maxRandom)})
	}
	p.renamed, more = renamedColumns(r.Columns)
	return p, append(faults, more...).Err()
}

// OnTables takes the bodies from CSV tables instead of the panel: women, or
// everybody that every garment suits, and men. Without women they are those of
// the panel; with women alone there are no men.
func (p *RandomPlan) OnTables(women, men io.Reader) (err error) {
	if women != nil {
		p.orders.Men = nil
		if p.orders.Women, p.ignored, err = proof.ReadCSV(women, p.renamed); err != nil {
			return err
		}
		if len(p.orders.Women) == 0 {
			return errors.New("no bodies")
		}
	}
	if men != nil {
		p.orders.Men, _, err = proof.ReadCSV(men, p.renamed)
	}
	return err
}

// Run drafts the orders on all processors. The bodies are named as the source.
func (p *RandomPlan) Run(ctx context.Context, source string) (Proof, error) {
	report, err := prove(ctx, p.orders, p.Progress)
	report.Warnings = []proof.ReasonReport{} // hundreds, of all garments
	report.Checks = report.Checks[:min(len(report.Checks), 10)]
	report.Block = fmt.Sprintf("%s, %d orders at random of seed %d", p.garment, p.orders.Count, p.orders.Seed)
	report.Bodies, report.Rows = source, len(p.orders.Women)+len(p.orders.Men)
	report.Ignored = append([]string{}, p.ignored...)
	return report, err
}

// WriteOrder writes the order with that number as an order file. The error is
// the faults of its body, or of the number.
func (p *RandomPlan) WriteOrder(w io.Writer, at int) error {
	if at < 0 || at >= p.orders.Count {
		return fault.List{{Code: fault.Range, Field: "/order", Value: fmt.Sprint(at),
			Accepted: fmt.Sprintf("0 to %d", p.orders.Count-1)}}
	}
	o, err := p.orders.Order(at)
	if err != nil {
		return err
	}
	return writeJSON(w, orderFile{o.Label, o.Input()})
}
