package main

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
)

const refitAbout = `
Applies a change of fit, style, measurements or alterations to many orders: first a
preview, which stores only what would move, then a decision. It calls the API of a
running server with the key in TAPELINE_API_KEY, of role staff or admin.

  tapeline refit preview -block torso -fit regular -ease bust_girth=10 -reason "tight at the fittings"
  tapeline refit preview -style shift-dress -revision 1:2 -order ID -order ID -reason "..."
  tapeline refit preview -customer ID -measurements :ID -reason "..."    from any set of the customer
  tapeline refit list                          the latest refits
  tapeline refit show ID [-orders PREVIEW]     the refit; with -orders each order with that preview
  tapeline refit decide ID -apply all          or none, or some with -order ID for each order
  tapeline refit stop ID                       orders already revised keep their revision
  tapeline refit picture ID ORDER -o FILE.svg  the moves in an order; or FILE.pdf

preview and decide wait until the refit is previewed or done. The refit continues if
they are interrupted. In FROM:TO an omitted FROM means any; for a style, an omitted TO
means the current revision.`

// refitCommand holds the arguments of refit.
type refitCommand struct {
	do     string
	of     []string // positional arguments after it
	client apiClient

	block, style, fit, revision, measurements, alterations string
	engine                                                 bool
	ease, statuses, orders                                 texts
	unit, customer, from, before, paper, reason            string
	apply, finding, output                                 string
}

// refitDoes are the words after refit, with what each needs besides flags.
var refitDoes = map[string][]string{
	"preview": {}, "list": {}, "show": {"a refit"}, "decide": {"a refit"}, "stop": {"a refit"}, "picture": {"a refit",
		"an order"},
}

func runRefit(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	var r refitCommand
	fs := newFlags("refit", "preview|list|show|decide|stop|picture [arguments] [flags]", refitAbout, stderr)
	r.flags(fs)
	const does = "preview, list, show, decide, stop or picture"
	var code int
	var ok bool
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		r.do, args = args[0], args[1:]
	} else if r.of, code, ok = parseFlags(fs, args, does); ok { // flags first: the word alone
		r.do, args = r.of[0], nil
	} else {
		return code
	}
	needs, known := refitDoes[r.do]
	if !known {
		fmt.Fprintf(stderr, "tapeline refit: unknown command %q: must be %s\n", r.do, does)
		return exitUsage
	}
	if r.of, code, ok = parseFlags(fs, args, needs...); !ok {
		return code
	}
	r.client.base = cmp.Or(r.client.base, os.Getenv("TAPELINE_API"), "http://127.0.0.1:8080")
	r.client.key = os.Getenv("TAPELINE_API_KEY")
	if r.client.key == "" {
		fmt.Fprintln(stderr, "tapeline refit: TAPELINE_API_KEY is required: the key to call the API with")
		return exitUsage
	}
	for _, id := range r.of {
		if uuid.Validate(id) != nil {
			fmt.Fprintf(stderr, "tapeline refit: %q is not an ID\n", id)
			return exitUsage
		}
	}
	r.client.http.Timeout = time.Minute
	err := r.run(ctx, stdout, stderr)
	if wrong, ok := errors.AsType[usageError](err); ok {
		fmt.Fprintf(stderr, "tapeline refit: %v\n", wrong)
		return exitUsage
	}
	if err != nil {
		fmt.Fprintf(stderr, "tapeline refit: %s\n", hush(err.Error()))
		return exitFaults
	}
	return exitDone
}

// usageError is an invalid flag.
type usageError string

func (e usageError) Error() string { return string(e) }

func (r *refitCommand) flags(fs *flag.FlagSet) {
	fs.StringVar(&r.client.base, "api", "", "`URL` of the API (default http://127.0.0.1:8080) [TAPELINE_API]")
	fs.StringVar(&r.block, "block", "", "orders for this block")
	fs.StringVar(&r.style, "style", "", "orders for this style")
	fs.StringVar(&r.fit, "fit", "", "`FROM[:TO]` fit of the block or style")
	fs.Var(&r.ease, "ease", "with -fit: `name=value` of the new ease; may be repeated")
	fs.StringVar(&r.unit, "unit", "cm", "unit of -ease: cm or inch")
	fs.StringVar(&r.revision, "revision", "", "`FROM:TO` revisions of -style")
	fs.StringVar(&r.measurements, "measurements", "", "`FROM:TO` measurement sets of -customer, by id")
	fs.StringVar(&r.alterations, "alterations", "", "`FROM:TO` alterations of -customer, by id")
	fs.BoolVar(&r.engine, "engine", false, "redraft with this release")
	fs.StringVar(&r.customer, "customer", "", "orders of the customer with this `id`")
	fs.Var(&r.statuses, "status", "ready or held (default both)")
	fs.StringVar(&r.from, "from", "", "orders created on this `day` or later, such as 2026-03-01")
	fs.StringVar(&r.before, "before", "", "orders created before this `day`")
	fs.Var(&r.orders, "order", "the order with this `id`, even if it is cut or shipped; may be repeated")
	fs.StringVar(&r.paper, "paper", "a4", "`paper` for page counts")
	fs.StringVar(&r.reason, "reason", "", "why; stored with every draft of the refit (required by preview)")
	fs.StringVar(&r.apply, "apply", "", "decide: all, some or none")
	fs.StringVar(&r.finding, "orders", "", "show: list the orders with this `preview`: changes, undraftable, "+
		"left_alone ...")
	fs.StringVar(&r.output, "o", "", "picture: the `FILE` to write")
}

func (r *refitCommand) run(ctx context.Context, stdout, stderr io.Writer) error {
	switch r.do {
	case "preview":
		return r.preview(ctx, stdout, stderr)
	case "list":
		return r.list(ctx, stdout)
	case "show":
		return r.show(ctx, stdout)
	case "decide":
		return r.decide(ctx, stdout, stderr)
	case "stop":
		return r.stop(ctx, stdout)
	default:
		return r.picture(ctx)
	}
}

// change returns the change that the flags describe.
func (r *refitCommand) change() (map[string]any, error) {
	var changes []map[string]any
	if r.fit != "" {
		from, to, both := strings.Cut(r.fit, ":")
		if !both {
			to = from
		}
		fit := map[string]any{"from": from, "to": to}
		of(fit, "block", r.block)
		of(fit, "style", r.style)
		ease, err := r.easeValues()
		if err != nil {
			return nil, err
		}
		if len(ease) > 0 {
			fit["ease"], fit["unit"] = ease, r.unit
		}
		changes = append(changes, map[string]any{"fit": fit})
	}
	if r.revision != "" {
		style := map[string]any{"style": r.style}
		from, to, _ := strings.Cut(r.revision, ":")
		for name, text := range map[string]string{"from": from, "to": to} {
			if text == "" {
				continue
			}
			n, err := strconv.Atoi(text)
			if err != nil {
				return nil, usageError(fmt.Sprintf("-revision %q: must be two numbers, such as 1:2", r.revision))
			}
			style[name] = n
		}
		changes = append(changes, map[string]any{"style": style})
	}
	for name, ends := range map[string]string{"measurements": r.measurements, "alterations": r.alterations} {
		if ends == "" {
			continue
		}
		from, to, both := strings.Cut(ends, ":")
		if !both {
			return nil, usageError(fmt.Sprintf("-%s %q: must be FROM:TO or :TO", name, ends))
		}
		change := map[string]any{"customer_id": r.customer, "to": to}
		of(change, "from", from)
		changes = append(changes, map[string]any{name: change})
	}
	if r.engine {
		changes = append(changes, map[string]any{"engine": map[string]any{}})
	}
	if len(changes) != 1 {
		return nil, usageError("exactly one change is required: -fit, -revision, -measurements, -alterations or -engine")
	}
	return changes[0], nil
}

func (r *refitCommand) easeValues() (map[string]float64, error) {
	values := map[string]float64{}
	for _, e := range r.ease {
		name, text, _ := strings.Cut(e, "=")
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return nil, usageError(fmt.Sprintf("-ease %q: must be name=value, such as bust_girth=10", e))
		}
		values[name] = v
	}
	return values, nil
}

// scope returns the scope that the flags describe.
func (r *refitCommand) scope() (map[string]any, error) {
	scope := map[string]any{}
	of(scope, "block", r.block)
	of(scope, "style", r.style)
	of(scope, "customer_id", r.customer)
	for name, day := range map[string]string{"created_from": r.from, "created_before": r.before} {
		if day == "" {
			continue
		}
		t, err := time.ParseInLocation(time.DateOnly, day, time.Local)
		if err != nil {
			return nil, usageError(fmt.Sprintf("%q is not a day such as 2026-03-01", day))
		}
		scope[name] = t
	}
	if len(r.statuses) > 0 {
		scope["statuses"] = []string(r.statuses)
	}
	if len(r.orders) > 0 {
		scope["orders"] = []string(r.orders)
	}
	return scope, nil
}

// of sets what is given.
func of(object map[string]any, name, v string) {
	if v != "" {
		object[name] = v
	}
}

func (r *refitCommand) preview(ctx context.Context, stdout, stderr io.Writer) error {
	if r.reason == "" {
		return usageError("-reason is required: it is stored with every draft of the refit")
	}
	change, err := r.change()
	if err != nil {
		return err
	}
	scope, err := r.scope()
	if err != nil {
		return err
	}
	var begun api.Refit
	err = r.client.call(ctx, "POST", "/v1/refits", map[string]any{"change": change, "scope": scope, "paper": r.paper,
		"reason": r.reason}, &begun)
	if err != nil {
		return err
	}
	fmt.Fprintf(stderr, "refit %s: %d orders\n", begun.ID, begun.Orders)
	return r.follow(ctx, begun.ID, stdout, stderr)
}

func (r *refitCommand) decide(ctx context.Context, stdout, stderr io.Writer) error {
	if !slices.Contains([]string{"all", "some", "none"}, r.apply) || (r.apply == "some") != (len(r.orders) > 0) {
		return usageError("must be -apply all, -apply none, or -apply some with -order ID for each order")
	}
	decision := map[string]any{"apply": r.apply}
	if len(r.orders) > 0 {
		decision["orders"] = []string(r.orders)
	}
	var decided api.Refit
	if err := r.client.call(ctx, "POST", "/v1/refits/"+r.of[0]+"/decide", decision, &decided); err != nil {
		return err
	}
	return r.follow(ctx, decided.ID, stdout, stderr)
}

func (r *refitCommand) stop(ctx context.Context, stdout io.Writer) error {
	if err := r.client.call(ctx, "POST", "/v1/refits/"+r.of[0]+"/stop", nil, nil); err != nil {
		return err
	}
	return r.show(ctx, stdout)
}

func (r *refitCommand) picture(ctx context.Context) error {
	format := strings.TrimPrefix(strings.ToLower(r.output[max(0, strings.LastIndexByte(r.output, '.')):]), ".")
	if format != "svg" && format != "pdf" {
		return usageError("-o FILE.svg or FILE.pdf is required")
	}
	data, err := r.client.get(ctx, "/v1/refits/"+r.of[0]+"/orders/"+r.of[1]+"/overlay?format="+format)
	if err != nil {
		return err
	}
	return os.WriteFile(r.output, data, 0o644)
}
