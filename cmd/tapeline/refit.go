package main

import (
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
Carries a change of fit, style, measurements or alterations to the orders that
it concerns: first a preview, which stores nothing but what would move, then a
decision. It calls the API of a running server with the key in TAPELINE_API_KEY,
of role staff or admin.

  tapeline refit preview -block torso -fit regular -ease bust_girth=10 -reason "tight at the fittings"
  tapeline refit preview -style shift-dress -revision 1:2 -order ID -order ID -reason "..."
  tapeline refit preview -customer ID -measurements :ID -reason "..."    from any set of the customer to that one
  tapeline refit list                          the last refits
  tapeline refit show ID [-orders FINDING]     how far it is and what moves; with -orders each order of a finding
  tapeline refit decide ID -apply all          or none, or some with -order ID for each
  tapeline refit stop ID                       what was applied stays
  tapeline refit picture ID ORDER -o FILE.svg  what moves in an order, or .pdf

preview and decide wait until the refit is previewed or done; interrupted, they
leave it at work. FROM:TO may lack FROM (any) and, of a style, TO (as it stands).`

// refitCommand is what refit is to do.
type refitCommand struct {
	do     string
	of     []string // positional arguments after it
	client refitClient

	block, style, fit, revision, measurements, alterations string
	engine                                                 bool
	ease, statuses, orders                                 texts
	unit, customer, from, before, paper, reason            string
	apply, finding, output                                 string
}

// refitDoes are the words after refit, with what each needs besides flags.
var refitDoes = map[string][]string{
	"preview": {}, "list": {}, "show": {"a refit"}, "decide": {"a refit"}, "stop": {"a refit"}, "picture": {"a refit", "an order"},
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
		fmt.Fprintf(stderr, "tapeline refit: there is no %q: %s\n", r.do, does)
		return exitUsage
	}
	if r.of, code, ok = parseFlags(fs, args, needs...); !ok {
		return code
	}
	r.client.key = os.Getenv("TAPELINE_API_KEY")
	if r.client.key == "" {
		fmt.Fprintln(stderr, "tapeline refit: TAPELINE_API_KEY is not set: the key to call the API with")
		return exitUsage
	}
	for _, id := range r.of {
		if uuid.Validate(id) != nil {
			fmt.Fprintf(stderr, "tapeline refit: %q is no id\n", id)
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
		fmt.Fprintf(stderr, "tapeline refit: %v\n", err)
		return exitFaults
	}
	return exitDone
}

// usageError is a flag that says nothing that can be asked for.
type usageError string

func (e usageError) Error() string { return string(e) }

func (r *refitCommand) flags(fs *flag.FlagSet) {
	fs.StringVar(&r.client.base, "api", env("TAPELINE_API", "http://127.0.0.1:8080"), "`URL` of the API [TAPELINE_API]")
	fs.StringVar(&r.block, "block", "", "orders for this block")
	fs.StringVar(&r.style, "style", "", "orders for this style")
	fs.StringVar(&r.fit, "fit", "", "`FROM[:TO]` fit of the block or style")
	fs.Var(&r.ease, "ease", "with -fit: `name=value` of ease that the orders have from then on; may be repeated")
	fs.StringVar(&r.unit, "unit", "cm", "of -ease: cm or inch")
	fs.StringVar(&r.revision, "revision", "", "`FROM:TO` revisions of -style")
	fs.StringVar(&r.measurements, "measurements", "", "`FROM:TO` measurement sets of -customer, by id")
	fs.StringVar(&r.alterations, "alterations", "", "`FROM:TO` alterations of -customer, by id")
	fs.BoolVar(&r.engine, "engine", false, "draft as this release does")
	fs.StringVar(&r.customer, "customer", "", "orders of the customer with this `id`")
	fs.Var(&r.statuses, "status", "ready or held; both without it")
	fs.StringVar(&r.from, "from", "", "orders placed on this `day` or later, such as 2026-03-01")
	fs.StringVar(&r.before, "before", "", "orders placed before this `day`")
	fs.Var(&r.orders, "order", "the order with this `id`, even where it is cut or shipped; may be repeated")
	fs.StringVar(&r.paper, "paper", "a4", "that pages are counted on")
	fs.StringVar(&r.reason, "reason", "", "why; stored with every draft that it makes (required by preview)")
	fs.StringVar(&r.apply, "apply", "", "of decide: all, some or none")
	fs.StringVar(&r.finding, "orders", "", "of show: list the orders with this `finding`: changes, undraftable, left_alone ...")
	fs.StringVar(&r.output, "o", "", "of picture: `FILE` to write")
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

// change is what the flags ask to be changed.
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
				return nil, usageError(fmt.Sprintf("-revision %q: want two numbers, such as 1:2", r.revision))
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
			return nil, usageError(fmt.Sprintf("-%s %q: want FROM:TO, or :TO", name, ends))
		}
		change := map[string]any{"customer_id": r.customer, "to": to}
		of(change, "from", from)
		changes = append(changes, map[string]any{name: change})
	}
	if r.engine {
		changes = append(changes, map[string]any{"engine": map[string]any{}})
	}
	if len(changes) != 1 {
		return nil, usageError("say one change: -fit, -revision, -measurements, -alterations or -engine")
	}
	return changes[0], nil
}

func (r *refitCommand) easeValues() (map[string]float64, error) {
	values := map[string]float64{}
	for _, e := range r.ease {
		name, text, _ := strings.Cut(e, "=")
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return nil, usageError(fmt.Sprintf("-ease %q: want name=value, such as bust_girth=10", e))
		}
		values[name] = v
	}
	return values, nil
}

// scope is what the flags ask to be in it.
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
			return nil, usageError(fmt.Sprintf("%q is no day: want such as 2026-03-01", day))
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
		return usageError("-reason is required: it is kept with every draft that the refit makes")
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
	err = r.client.call(ctx, "POST", "/v1/refits", map[string]any{"change": change, "scope": scope, "paper": r.paper, "reason": r.reason}, &begun)
	if err != nil {
		return err
	}
	fmt.Fprintf(stderr, "refit %s: %d orders\n", begun.ID, begun.Orders)
	return r.follow(ctx, begun.ID, stdout, stderr)
}

func (r *refitCommand) decide(ctx context.Context, stdout, stderr io.Writer) error {
	if !slices.Contains([]string{"all", "some", "none"}, r.apply) || (r.apply == "some") != (len(r.orders) > 0) {
		return usageError("say -apply all, -apply none, or -apply some with -order ID for each")
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
