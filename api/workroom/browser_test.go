package workroom_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus"

	"tapeline/api"
	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/app"
	"tapeline/service/customers"
	"tapeline/service/orders"
)

// site is a server at work with an invented shop.
type site struct {
	testing.TB
	URL     string
	service *app.App
	store   *db.Store
	shop    access.Shop
	caller  service.Caller
	keys    map[service.Role]string
}

func newSite(t testing.TB) *site {
	t.Helper()
	store := dbtest.New(t)
	log := slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelWarn}))
	registry := prometheus.NewRegistry()
	svc, err := app.Open(store, app.Config{Log: log, Registry: registry, Version: "test", PublicURL: "http://127.0.0.1",
		PrivateWebhooks: true})
	s := &site{TB: t, service: svc, store: store, keys: map[service.Role]string{}}
	s.must(err)
	server, err := api.New(svc, api.Config{Log: log, Registry: registry, Version: "test"})
	s.must(err)
	s.shop, _, err = svc.Access.EnsureShop(t.Context(), "thimble-row", "Thimble Row")
	s.must(err)
	for _, role := range []service.Role{service.RoleShop, service.RoleStaff, service.RoleAdmin} {
		key, secret, err := svc.Access.CreateKey(t.Context(), service.Caller{Shop: s.shop.ID},
			access.NewKey{Name: "The " + string(role), Role: role})
		s.must(err)
		s.keys[role], s.caller = secret, service.Caller{Shop: s.shop.ID, Key: key.ID, Role: role}
	}
	s.must(svc.Start(context.WithoutCancel(t.Context())))
	listener := httptest.NewServer(server)
	s.URL = listener.URL
	t.Cleanup(func() {
		server.Stopping()
		listener.Close()
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := svc.Stop(ctx); err != nil {
			t.Errorf("stop jobs: %v", err)
		}
	})
	return s
}

func (s *site) must(err error) {
	s.Helper()
	if err != nil {
		s.Fatal(err)
	}
}

// middle is a body of middle size, cm.
func middle() map[string]float64 {
	return map[string]float64{"bust_girth": 92, "waist_girth": 74, "hip_girth": 98, "neck_base_girth": 37,
		"shoulder_length": 12.6, "back_width": 35, "nape_to_waist": 41, "waist_to_hip": 20.5, "upper_arm_girth": 29,
		"wrist_girth": 16, "arm_length": 58}
}

// place places an order of a block or style to the middle body with changes, and
// waits until it is drafted or held.
func (s *site) place(reference, customer string, change func(*orders.NewOrder)) orders.Order {
	s.Helper()
	n := orders.NewOrder{Reference: reference, Customer: &customers.Details{Reference: "C-" + customer, Name: customer},
		Input: orders.Input{Unit: "cm", Measurements: middle(), Block: "torso", Fit: "regular"}}
	if change != nil {
		change(&n)
	}
	o, err := s.service.Orders.Create(s.Context(), s.caller, n, uuid.NewString())
	s.must(err)
	return s.await(o.ID)
}

// await waits until an order is no longer being drafted.
func (s *site) await(order uuid.UUID) orders.Order {
	s.Helper()
	for range 200 {
		o, err := s.service.Orders.Get(s.Context(), s.caller, order)
		s.must(err)
		if o.Status != orders.Received {
			return o
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.Fatal("the order is still being drafted")
	return orders.Order{}
}

// window is a browser's window on a site.
type window struct {
	*site
	ctx context.Context //nolint:containedctx // chromedp's context is the window

	mu     sync.Mutex
	faults []string // scripts' errors and what the content security policy refused
}

// browser starts the one browser of these tests, which takes seconds of both processors.
var browser = sync.OnceValues(func() (context.Context, error) {
	// The whole browser draws windows of its own beside the pages: it takes twice as long.
	path, err := exec.LookPath("chromium-headless-shell")
	if err != nil {
		path, err = exec.LookPath("chromium")
	}
	if err != nil {
		return nil, err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.WSURLReadTimeout(time.Minute))
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, _ := chromedp.NewContext(allocator)
	endBrowser = func() {
		_ = chromedp.Cancel(ctx) // which waits until the browser has ended
		end()
	}
	return ctx, chromedp.Run(ctx) // the browser lives as long as this context
})

// Size of a window, with the browser's bars.
const windowWidth, windowHeight = 1400, 980

// endBrowser ends the browser.
var endBrowser = func() {}

func TestMain(m *testing.M) {
	code := m.Run()
	endBrowser()
	os.Exit(code)
}

// open opens a window that shares no cookies with others.
func (s *site) open() *window {
	s.Helper()
	all, err := browser()
	if errors.Is(err, exec.ErrNotFound) && os.Getenv("TAPELINE_READERS") != "required" {
		s.Skip("chromium is not installed")
	}
	s.must(err)
	whole := cdp.WithExecutor(all, chromedp.FromContext(all).Browser)
	visitor, err := target.CreateBrowserContext().WithDisposeOnDetach(true).Do(whole)
	s.must(err)
	id, err := target.CreateTarget("about:blank").WithBrowserContextID(visitor).WithNewWindow(true).
		WithWidth(windowWidth).WithHeight(windowHeight).Do(whole)
	s.must(err)
	tab, cancel := chromedp.NewContext(all, chromedp.WithTargetID(id))
	s.Cleanup(func() {
		cancel()
		if err := target.DisposeBrowserContext(visitor).Do(whole); err != nil {
			s.Logf("close the window: %v", err)
		}
	})
	s.must(chromedp.Run(tab, emulation.SetFocusEmulationEnabled(true))) // as if each window were in front
	w := &window{site: s, ctx: tab}
	chromedp.ListenTarget(tab, func(event any) {
		w.mu.Lock()
		defer w.mu.Unlock()
		switch e := event.(type) {
		case *runtime.EventExceptionThrown:
			w.faults = append(w.faults, e.ExceptionDetails.Error())
		case *network.EventRequestWillBeSent:
			if !strings.HasPrefix(e.Request.URL, s.URL) && !strings.HasPrefix(e.Request.URL, "data:") {
				w.faults = append(w.faults, "asked another host: "+e.Request.URL)
			}
		case *runtime.EventConsoleAPICalled:
			// An event as an error is a stream that the server ended after its time: the page asks again. What a
			// script asks after its session has ended is refused, as it must be.
			text := string(e.Args[0].Value)
			expected := text == `"[object Event]"` || strings.Contains(text, "Error Code 401")
			if e.Type == runtime.APITypeError && !expected {
				w.faults = append(w.faults, "console: "+text)
			}
		}
	})
	w.do(network.Enable(), chromedp.Navigate("about:blank"))
	s.Cleanup(func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		for _, f := range w.faults {
			s.Errorf("browser: %s", f)
		}
	})
	return w
}

func (w *window) do(actions ...chromedp.Action) {
	w.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, 15*time.Second)
	defer cancel()
	if err := chromedp.Run(ctx, actions...); err != nil {
		w.fail(err)
	}
}

// signIn signs in with the key of a role and lands on the orders.
func (w *window) signIn(role service.Role) *window {
	w.Helper()
	w.visit("/workroom")
	w.do(chromedp.SetValue("#key", w.keys[role]), chromedp.Submit("#key"), chromedp.WaitVisible(".tabs"))
	return w
}

func (w *window) visit(path string) {
	w.Helper()
	w.do(chromedp.Navigate(w.URL+path), chromedp.WaitReady("main"))
}

// button is the XPath of a button or link with the text.
func button(text string) string {
	return fmt.Sprintf(`//*[self::button or self::a or self::summary][normalize-space()=%q]`, text)
}

// press presses the button or link with the text.
func (w *window) press(text string) {
	w.Helper()
	// A part that arrives late moves what stands beside it.
	w.until(`!document.querySelector(".htmx-request")`)
	for try := 0; ; try++ {
		ctx, cancel := context.WithTimeout(w.ctx, 15*time.Second)
		err := chromedp.Run(ctx, chromedp.Click(button(text), chromedp.BySearch, chromedp.NodeVisible))
		cancel()
		if err == nil {
			return
		}
		// A part of the page that was loaded again just then took its nodes away.
		if try == 2 || !strings.Contains(err.Error(), "Could not find node") {
			w.fail(fmt.Errorf("press %q: %w", text, err))
		}
	}
}

// sees waits until the page shows a text.
func (w *window) sees(text string) {
	w.Helper()
	script := fmt.Sprintf(`document.body.innerText.replace(/\s+/g, " ").includes(%q)`, text)
	for range 600 { // a minute: other work may have the processors
		var found bool
		// An error means that the page is being left: the next one is asked.
		if err := chromedp.Run(w.ctx, chromedp.Evaluate(script, &found)); err == nil && found {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	w.fail(fmt.Errorf("the page does not show %q", text))
}

// fail ends the test with what the page shows.
func (w *window) fail(err error) {
	w.Helper()
	w.picture("failed")
	var shown string
	_ = chromedp.Run(w.ctx, chromedp.Evaluate("document.URL + document.body.innerText", &shown))
	w.Fatalf("browser: %v\n%s", err, shown)
}

// picture saves the whole page as a PNG in the folder of TAPELINE_PICTURES, if that
// is set, and glance what the window shows of it.
func (w *window) picture(name string) {
	w.Helper()
	w.save(name, func(data *[]byte) chromedp.Action { return chromedp.FullScreenshot(data, 100) })
}

func (w *window) glance(name string) {
	w.Helper()
	w.save(name, func(data *[]byte) chromedp.Action {
		return chromedp.ActionFunc(func(ctx context.Context) (err error) {
			// The window's own height has the browser's bars in it.
			if err := chromedp.EmulateViewport(1400, 980).Do(ctx); err != nil {
				return err
			}
			shown := page.Viewport{Width: 1400, Height: 980, Scale: 0.7} // under 150 kB, for a text that shows it
			*data, err = page.CaptureScreenshot().WithClip(&shown).Do(ctx)
			return err
		})
	})
}

func (w *window) save(name string, take func(*[]byte) chromedp.Action) {
	w.Helper()
	folder := os.Getenv("TAPELINE_PICTURES")
	if folder == "" {
		return
	}
	var data []byte
	if err := chromedp.Run(w.ctx, take(&data)); err != nil {
		w.Logf("picture: %v", err)
		return
	}
	if err := os.WriteFile(filepath.Join(folder, name+".png"), data, 0o644); err != nil {
		w.Logf("picture: %v", err)
	}
}
