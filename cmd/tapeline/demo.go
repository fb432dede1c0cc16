package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/service"
	"tapeline/service/access"
)

const demoAbout = `
Starts a server on a private Postgres, posts a sample order of an invented shop over
HTTP, waits for the signed webhook, saves the pattern, and shows how to repeat each
step with curl. It fills the shop with sample orders and prints a key that opens the
workroom. The server keeps running until it is interrupted, or ends with -exit.
No setup is needed: if port 8080 is in use, or Postgres cannot enter the data folder,
and no other was given, the demo chooses another and says so.`

// The demo's shop and customer are invented.
const (
	demoShop     = "thimble-row"
	demoShopName = "Thimble Row"
	demoWait     = 30 * time.Second
)

// demoOrder is the body of the sample order; its reference differs each time.
const demoOrder = `{
  "reference": %q,
  "customer": {"reference": "C-77", "name": "Mara Vell"},
  "unit": "cm",
  "measurements": {
    "bust_girth": 92, "waist_girth": 74, "hip_girth": 98, "neck_base_girth": 37,
    "shoulder_length": 12.6, "back_width": 35, "nape_to_waist": 41, "waist_to_hip": 20.5,
    "upper_arm_girth": 29, "wrist_girth": 16, "arm_length": 58
  },
  "block": "torso",
  "fit": "regular",
  "choices": {"length": "hip"},
  "allowances": {"default": 1.5, "hem": 3}
}`

func runDemo(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	var s settings
	fs := newFlags("demo", "[flags]", demoAbout, stderr)
	s.serveFlags(fs)
	file := fs.String("o", "demo-pattern.pdf", "the `FILE` for the pattern")
	exit := fs.Bool("exit", false, "exit when the order is done")
	if code, ok := parseSettings(fs, &s, args, stderr); !ok {
		return code
	}
	s.PrivateWebhooks, s.LogLevel = true, max(s.LogLevel, slog.LevelWarn)
	log := newLogger(stderr, s.LogLevel)
	if err := s.settleDemo(fs, stdout); err != nil {
		log.Error("cannot start", "error", err)
		return exitFaults
	}
	r, err := start(ctx, s, log)
	if err != nil {
		log.Error("cannot start", "error", err)
		return exitFaults
	}
	d := &demo{running: r, out: stdout, file: *file, base: "http://" + r.addr.String(),
		reference: "DEMO-" + time.Now().UTC().Format("20060102-150405.000")}
	err = d.run(ctx)
	if err == nil && !*exit {
		fmt.Fprintf(stdout, "\nThe server runs on at %s until you press Ctrl-C.\n", d.base)
		<-ctx.Done()
	}
	if err != nil && ctx.Err() == nil {
		fmt.Fprintf(stderr, "tapeline demo: %s\n", hush(err.Error()))
	}
	if err := errors.Join(err, r.stop(ctx)); err != nil {
		return exitFaults
	}
	return exitDone
}

// demo takes one order through a server that is running.
type demo struct {
	running   *running
	out       io.Writer
	file      string
	base      string
	reference string
	admin     string // keys of the demo's shop
	shop      string
	staff     string
	test      string
	pages     string // publishable
	receiver  *receiver
}

func (d *demo) run(ctx context.Context) error {
	fmt.Fprintf(d.out, "tapeline %s is up at %s\n", version(), d.base)
	if err := d.makeShop(ctx); err != nil {
		return err
	}
	if err := d.listen(ctx); err != nil {
		return err
	}
	defer d.receiver.server.Close()
	order := fmt.Sprintf(demoOrder, d.reference)
	began := time.Now()
	var placed struct {
		ID     uuid.UUID
		Status string
	}
	if err := d.call(ctx, http.MethodPost, "/v1/orders", d.shop, []byte(order), &placed); err != nil {
		return fmt.Errorf("post the order: %w", err)
	}
	fmt.Fprintf(d.out, "posted order %s: %s, id %s\n", d.reference, placed.Status, placed.ID)
	if err := d.receiver.await(ctx, placed.ID, d.out); err != nil {
		return err
	}
	fmt.Fprintf(d.out, "from order to signed webhook: %d ms\n", time.Since(began).Milliseconds())
	var pdf []byte
	if err := d.call(ctx, http.MethodGet, "/v1/orders/"+placed.ID.String()+"/pattern.pdf?paper=a4", d.shop, nil,
		&pdf); err != nil {
		return fmt.Errorf("fetch the pattern: %w", err)
	}
	if err := os.WriteFile(d.file, pdf, 0o644); err != nil {
		return err
	}
	fmt.Fprintf(d.out, "saved the pattern on A4 in %s (%d kB): print it at 100 %%, check the test square, sew a "+
		"toile first\n", d.file, len(pdf)/1000)
	if err := d.addSamples(ctx); err != nil {
		return err
	}
	d.explain(placed.ID)
	d.invite()
	return nil
}

// makeShop makes the demo's shop and keys: an admin's from the command line,
// as `tapeline keys add` does, and the others from the API.
func (d *demo) makeShop(ctx context.Context) error {
	keys := d.running.service.Access
	shop, _, err := keys.EnsureShop(ctx, demoShop, demoShopName)
	if err != nil {
		return err
	}
	operator := service.Caller{Shop: shop.ID}
	if err := revokeFormer(ctx, keys, operator); err != nil {
		return err
	}
	if _, d.admin, err = keys.CreateKey(ctx, operator, access.NewKey{Name: demoKey + "admin",
		Role: service.RoleAdmin}); err != nil {
		return err
	}
	for _, k := range []struct {
		into *string
		key  map[string]any
	}{
		{&d.shop, map[string]any{"name": demoKey + "web shop", "role": service.RoleShop}},
		{&d.staff, map[string]any{"name": demoKey + "workroom", "role": service.RoleStaff}},
		{&d.test, map[string]any{"name": demoKey + "tests", "role": service.RoleShop, "test": true}},
		{&d.pages, map[string]any{"name": demoKey + "order form", "role": service.RolePublishable,
			"origins": []string{demoOrigin}}},
	} {
		if *k.into, err = d.makeKey(ctx, k.key); err != nil {
			return err
		}
	}
	fmt.Fprintf(d.out, "made the shop %s with its keys\n", demoShopName)
	return nil
}

const (
	demoKey    = "demo: "                // the names of its keys begin so
	demoOrigin = "http://localhost:3000" // where the pages of a shop under development usually are
)

// revokeFormer revokes the keys of former demos, whose secrets nobody has.
func revokeFormer(ctx context.Context, keys *access.Service, operator service.Caller) error {
	former, err := keys.Keys(ctx, operator)
	if err != nil {
		return err
	}
	for _, k := range former {
		if k.RevokedAt == nil && strings.HasPrefix(k.Name, demoKey) {
			if err := keys.RevokeKey(ctx, operator, k.ID); err != nil {
				return err
			}
		}
	}
	return nil
}

// makeKey makes a key of the demo's shop and returns its secret.
func (d *demo) makeKey(ctx context.Context, key map[string]any) (string, error) {
	body, err := json.Marshal(key)
	if err != nil {
		return "", err
	}
	var made struct{ Secret string }
	if err := d.call(ctx, http.MethodPost, "/v1/api-keys", d.admin, body, &made); err != nil {
		return "", fmt.Errorf("make the key %q: %w", key["name"], err)
	}
	return made.Secret, nil
}

// listen starts a receiver and registers it, in place of those of former
// demos, which are gone.
func (d *demo) listen(ctx context.Context) error {
	var former struct{ Items []struct{ ID string } }
	if err := d.call(ctx, http.MethodGet, "/v1/webhook-endpoints", d.admin, nil, &former); err != nil {
		return err
	}
	for _, e := range former.Items {
		if err := d.call(ctx, http.MethodDelete, "/v1/webhook-endpoints/"+e.ID, d.admin, nil, nil); err != nil {
			return err
		}
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	d.receiver = newReceiver(listener)
	var made struct{ Secret string }
	body, _ := json.Marshal(map[string]any{"url": "http://" + listener.Addr().String() + "/hooks"})
	if err := d.call(ctx, http.MethodPost, "/v1/webhook-endpoints", d.admin, body, &made); err != nil {
		return fmt.Errorf("register the webhook endpoint: %w", err)
	}
	d.receiver.secret <- made.Secret
	fmt.Fprintf(d.out, "registered a webhook receiver at %s\n", listener.Addr())
	return nil
}

// call makes one request. into takes JSON, or a file as []byte.
func (d *demo) call(ctx context.Context, method, path, key string, body []byte, into any) error {
	r, err := http.NewRequestWithContext(ctx, method, d.base+path, bytes.NewReader(body))
	if err != nil {
		return err
	}
	r.Header.Set("Authorization", "Bearer "+key)
	if body != nil {
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Idempotency-Key", `"`+uuid.NewString()+`"`)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	if res.StatusCode >= 300 {
		return fmt.Errorf("%s: %s", res.Status, data)
	}
	switch v := into.(type) {
	case nil:
		return nil
	case *[]byte:
		*v = data
		return nil
	default:
		return json.Unmarshal(data, into)
	}
}

// explain says how to do the same by hand. The key is the demo's own; it opens
// nothing but the demo's shop on this machine.
func (d *demo) explain(id uuid.UUID) {
	fmt.Fprintf(d.out, `
To repeat it with curl while the server runs:

export KEY=%s

curl -sS %s/v1/orders -H "Authorization: Bearer $KEY" -H 'Content-Type: application/json' \
  -H "Idempotency-Key: \"$(date +%%s)\"" -d @- <<'ORDER'
%s
ORDER

curl -sS %s/v1/orders/%s -H "Authorization: Bearer $KEY"
curl -sS "%s/v1/orders/%s/pattern.pdf?paper=letter" -H "Authorization: Bearer $KEY" -o pattern-letter.pdf
curl -sS %s/v1/orders/%s/pages -H "Authorization: Bearer $KEY"
curl -sS %s/v1/styles -H "Authorization: Bearer $KEY"

An order may name one of those instead of a block: "style": "shift-dress", without choices.

For the shop's own software:

key for test orders  %s
key for pages of %s  %s

Webhooks of test orders, forwarded to this machine:

TAPELINE_API_KEY=%s tapeline listen --api %s --to http://127.0.0.1:3000/hooks

Test orders are drafted like others and are in no list of real orders. Their customers are erased after a
week. An order whose reference begins with TEST-HELD is held with a question; one with TEST-FAILED fails.
`, d.shop, d.base, fmt.Sprintf(demoOrder, "DEMO-2"), d.base, id, d.base, id, d.base, id, d.base,
		d.test, demoOrigin, d.pages, d.test, d.base)
}
