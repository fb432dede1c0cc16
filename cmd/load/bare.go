package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/labstack/echo/v4"
)

// serveBare serves the handler to compare with. It decodes the same order and inserts
// one row with a synchronous commit.
func serveBare(databaseURL string) {
	ctx := context.Background()
	fail := func(err error) {
		if err != nil {
			fmt.Fprintln(os.Stderr, "bare:", err)
			os.Exit(1)
		}
	}
	pool, err := pgxpool.New(ctx, databaseURL)
	fail(err)
	_, err = pool.Exec(ctx, `CREATE TABLE IF NOT EXISTS bare_orders (
		id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY, body jsonb NOT NULL)`)
	fail(err)
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.POST("/", func(c echo.Context) error {
		var body map[string]any
		if err := c.Bind(&body); err != nil {
			return err
		}
		if _, err := pool.Exec(c.Request().Context(), `INSERT INTO bare_orders (body) VALUES ($1)`, body); err != nil {
			return err
		}
		return c.JSON(http.StatusCreated, map[string]string{"status": "received"})
	})
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	fail(err)
	fmt.Println("http://" + listener.Addr().String())
	fail(http.Serve(listener, e))
}

// measureBare runs the bare handler in its own process and returns the requests per
// second that it serves to a number of callers.
func measureBare(ctx context.Context, s *server, length time.Duration, callers int) (float64, error) {
	database, err := s.databaseURL()
	if err != nil {
		return 0, err
	}
	self, err := os.Executable()
	if err != nil {
		return 0, err
	}
	cmd := exec.CommandContext(ctx, self, "bare", database)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return 0, err
	}
	if err := cmd.Start(); err != nil {
		return 0, err
	}
	defer func() { _ = cmd.Process.Kill(); _ = cmd.Wait() }()
	var base string
	if _, err := fmt.Fscanln(out, &base); err != nil {
		return 0, fmt.Errorf("bare handler did not start: %w", err)
	}
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: callers}}
	var done, failed atomic.Int64
	began := time.Now()
	var wg sync.WaitGroup
	for range callers {
		wg.Go(func() {
			for n := int64(0); time.Since(began) < length; n++ {
				if post(client, base, order(n)) {
					done.Add(1)
				} else {
					failed.Add(1)
				}
			}
		})
	}
	wg.Wait()
	if failed.Load() > 0 {
		return 0, fmt.Errorf("bare handler: %d of %d requests failed", failed.Load(), failed.Load()+done.Load())
	}
	return float64(done.Load()) / time.Since(began).Seconds(), nil
}

func post(client *http.Client, url string, body []byte) bool {
	res, err := client.Post(url, "application/json", bytes.NewReader(body))
	if err != nil {
		return false
	}
	defer res.Body.Close()
	_, err = io.Copy(io.Discard, res.Body)
	return err == nil && res.StatusCode == http.StatusCreated && json.Valid(body)
}
