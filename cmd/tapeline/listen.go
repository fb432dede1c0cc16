package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"time"

	"tapeline/api"
	"tapeline/service/webhooks"
)

const listenAbout = `
Forwards a shop's webhook messages to a program on this machine, which no server can
reach: it fetches them, posts each as it is signed, and reports the answer. It prints
the secret that they are signed with, and a line for each message. A message that is
not answered with 2xx is tried again, as by an endpoint. The listener ends with the
command.

  tapeline listen --to http://127.0.0.1:3000/hooks

The key is read from TAPELINE_API_KEY or a file, and may be of role shop, staff or
admin. With a test key only messages about test orders come.`

// listener forwards messages.
type listener struct {
	client  apiClient
	forward *webhooks.Client
	to      string
	events  string
	id      string
	out     io.Writer
}

// Times of a listener.
const (
	fetchWait    = 20               // seconds that a fetch waits for a message
	forwardLimit = 15 * time.Second // for the receiver's answer
	endWithin    = 15 * time.Second
	longestPause = 30 * time.Second // between fetches while the server does not answer
)

func runListen(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	l := listener{out: stdout}
	fs := newFlags("listen", "--to URL [flags]", listenAbout, stderr)
	fs.StringVar(&l.to, "to", "", "`URL` to forward to (required)")
	fs.StringVar(&l.events, "events", "", "`types` to forward, separated by commas; all by default")
	fs.StringVar(&l.client.base, "api", "", "`URL` of the API (default http://127.0.0.1:8080) [TAPELINE_API]")
	keyFile := fs.String("key-file", "", "`FILE` with the key, in place of TAPELINE_API_KEY")
	if _, code, ok := parseFlags(fs, args); !ok {
		return code
	}
	l.client.base = cmp.Or(l.client.base, os.Getenv("TAPELINE_API"), "http://127.0.0.1:8080")
	var err error
	if l.client.key, err = readKey(*keyFile); err == nil && l.to == "" {
		err = errors.New("--to is required: the URL to forward to, such as http://127.0.0.1:3000/hooks")
	}
	if err != nil {
		fmt.Fprintf(stderr, "tapeline listen: %v\n", err)
		return exitUsage
	}
	l.client.http.Timeout = 2 * fetchWait * time.Second
	l.forward = webhooks.NewClient(webhooks.Options{AllowPrivate: true, Timeout: forwardLimit})
	if err := l.run(ctx); err != nil {
		fmt.Fprintf(stderr, "tapeline listen: %s\n", hush(err.Error()))
		return exitFaults
	}
	return exitDone
}

// readKey reads the key to call the API with from a file, or without one from the
// environment. It is no argument, because others see those.
func readKey(file string) (string, error) {
	if file == "" {
		if key := os.Getenv("TAPELINE_API_KEY"); key != "" {
			return key, nil
		}
		return "", errors.New("TAPELINE_API_KEY or --key-file is required: the key to call the API with")
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return "", err
	}
	if key := strings.TrimSpace(string(data)); key != "" {
		return key, nil
	}
	return "", fmt.Errorf("%s is empty", file)
}

// run forwards messages until ctx ends, and then ends the listener.
func (l *listener) run(ctx context.Context) (err error) {
	n := api.NewWebhookListener{ForwardTo: l.to}
	if l.events != "" {
		for e := range strings.SplitSeq(l.events, ",") {
			n.Events = append(n.Events, api.SubscribableEvent(strings.TrimSpace(e)))
		}
	}
	var made api.WebhookEndpointWithSecret
	if err := l.client.call(ctx, http.MethodPost, "/v1/webhook-listeners", n, &made); err != nil {
		return err
	}
	l.id = made.Endpoint.ID.String()
	fmt.Fprintf(l.out, "forwarding to %s; verify with this secret, which is new each time:\n%s\n", l.to, made.Secret)
	reports, err := l.follow(ctx)
	end, cancel := context.WithTimeout(context.WithoutCancel(ctx), endWithin)
	defer cancel()
	if len(reports) > 0 { // so that what was delivered is known as delivered
		_, lost := l.fetch(end, 0, reports)
		err = errors.Join(err, lost)
	}
	return errors.Join(err, l.client.call(end, http.MethodDelete, "/v1/webhook-listeners/"+l.id, nil, nil))
}

// follow forwards messages until ctx ends or the listener is over, and returns the
// reports that are still to be made.
func (l *listener) follow(ctx context.Context) (reports []api.WebhookReport, err error) {
	pause := time.Second
	for ctx.Err() == nil {
		messages, err := l.fetch(ctx, fetchWait, reports)
		if refused, ok := errors.AsType[*refusedError](err); ok && refused.status < http.StatusInternalServerError &&
			refused.status != http.StatusTooManyRequests {
			return nil, err
		}
		if err != nil && ctx.Err() == nil {
			fmt.Fprintf(l.out, "the server does not answer; trying again in %s: %s\n", pause, hush(err.Error()))
			wait(ctx, pause)
			pause = min(2*pause, longestPause)
			continue
		}
		if err != nil {
			return reports, nil
		}
		reports, pause = nil, time.Second
		for _, m := range messages {
			if ctx.Err() != nil {
				break // those that are left go to nobody: the listener ends
			}
			reports = append(reports, l.pass(context.WithoutCancel(ctx), m))
		}
	}
	return reports, nil
}

func wait(ctx context.Context, pause time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(pause):
	}
}

func (l *listener) fetch(
	ctx context.Context, seconds int, reports []api.WebhookReport,
) ([]api.FetchedWebhookMessage, error) {
	var list api.FetchedWebhookMessageList
	err := l.client.call(ctx, http.MethodPost, "/v1/webhook-listeners/"+l.id+"/fetch",
		api.WebhookFetch{Wait: seconds, Reports: reports}, &list)
	return list.Items, err
}

// pass posts a message to the receiver and prints what became of it.
func (l *listener) pass(ctx context.Context, m api.FetchedWebhookMessage) api.WebhookReport {
	header := http.Header{}
	for name, value := range m.Headers {
		header.Set(name, value)
	}
	out := l.forward.Deliver(ctx, l.to, header, []byte(m.Body))
	report := api.WebhookReport{MessageID: m.ID, Attempt: m.Attempt, DurationMs: int(out.Duration.Milliseconds())}
	answer := fmt.Sprint(out.Status)
	if out.Err != nil {
		report.Error = webhooks.Describe(out.Err)
		answer = report.Error
	} else {
		report.HTTPStatus = out.Status
	}
	fmt.Fprintf(l.out, "%s  %s  -> %s, %d ms\n", time.Now().Format(time.TimeOnly), describeEvent(m), answer,
		report.DurationMs)
	return report
}

// describeEvent names a message's event, its order and the attempt.
func describeEvent(m api.FetchedWebhookMessage) string {
	var e api.WebhookEvent
	if json.Unmarshal([]byte(m.Body), &e) != nil {
		return m.ID.String()
	}
	text := strings.TrimSpace(string(e.Type) + " " + e.Data.Reference)
	if e.Data.Test {
		text += " (test)"
	}
	if m.Attempt > 1 {
		text += fmt.Sprintf(", attempt %d", m.Attempt)
	}
	return text
}
