package main

import (
	"context"
	"io"
	"net"
	"net/url"
	"os"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tapeline/db/dbtest"
)

// faultTime is how long the faults of these tests last: 10 s with
// TAPELINE_WHOLE=1, otherwise a sample.
func faultTime() time.Duration {
	if os.Getenv("TAPELINE_WHOLE") != "" {
		return 10 * time.Second
	}
	return 3 * time.Second
}

// fewOrders are placed while a fault lasts, the first half of them before.
const fewOrders = 60

// faultPace spreads the second half of the orders of six callers over the fault.
func faultPace() time.Duration { return faultTime() / 5 }

// Another program takes all connections of the database, those of the replicas
// too, under load.
func TestConnectionsHogged(t *testing.T) {
	t.Parallel()
	s, r, pg, _ := faulty(t)
	s.pace = 3 * faultPace() // on a busy machine it takes seconds until all are taken
	ids := s.orders(fewOrders, func() {
		if held := hog(t, pg.URL(), faultTime()); held < 50 {
			t.Errorf("held %d connections: the database had others to give", held)
		}
	})
	s.refusedSome()
	s.settled(ids, fewOrders, r)
}

// refusedSome checks that the fault was felt.
func (s *shop) refusedSome() {
	s.Helper()
	n := s.failed.Load()
	if s.Logf("%d calls failed", n); n == 0 {
		s.Error("no call failed: the fault was none")
	}
}

// hog ends the other sessions of a database, takes every connection that it gives, keeps
// them for a time, and returns how many that were.
func hog(t *testing.T, database string, lasts time.Duration) int {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	var held []*pgx.Conn
	var end time.Time // once it has them all
	for end.IsZero() || time.Now().Before(end) {
		c, err := pgx.Connect(ctx, database)
		if err != nil { // it refuses further connections: end the sessions of the replicas
			if len(held) == 0 {
				t.Errorf("hog: %v", err)
				return 0
			}
			if end.IsZero() {
				end = time.Now().Add(lasts)
			}
			_, err := held[0].Exec(ctx, `SELECT pg_terminate_backend(pid) FROM pg_stat_activity
				WHERE application_name = 'tapeline'`)
			if err != nil {
				t.Errorf("hog: %v", err)
			}
			time.Sleep(10 * time.Millisecond)
			continue
		}
		held = append(held, c)
	}
	for _, c := range held {
		_ = c.Close(ctx)
	}
	return len(held)
}

// Every statement takes a second for a while, under load.
func TestDatabaseSlow(t *testing.T) {
	t.Parallel()
	pg := newSlowable(t)
	s, r, _ := faultyOn(t, pg.url)
	s.pace = faultPace()
	ids := s.orders(fewOrders, func() {
		pg.wait.Store(int64(time.Second))
		time.Sleep(faultTime())
		pg.wait.Store(0)
	})
	t.Logf("%d calls failed", s.failed.Load())
	s.settled(ids, fewOrders, r)
}

// slowable is a database behind a proxy that can hold every message to it back.
type slowable struct {
	url  string
	wait atomic.Int64 // time.Duration for which a message is held back
}

func newSlowable(t *testing.T) *slowable {
	t.Helper()
	database, err := url.Parse(dbtest.NewServer(t).URL())
	if err != nil {
		t.Fatal(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = listener.Close() })
	p, target := &slowable{}, database.Host
	database.Host = listener.Addr().String()
	p.url = database.String()
	go func() {
		for {
			c, err := listener.Accept()
			if err != nil {
				return
			}
			go p.serve(c, target)
		}
	}()
	return p
}

// serve connects a client with the database.
func (p *slowable) serve(client net.Conn, target string) {
	defer client.Close()
	server, err := net.Dial("tcp", target)
	if err != nil {
		return
	}
	defer server.Close()
	go func() {
		_, _ = io.Copy(client, server)
		_ = client.Close()
	}()
	p.forward(server, client)
}

// forward copies messages to the database, each after the wait.
func (p *slowable) forward(to io.Writer, from io.Reader) {
	buffer := make([]byte, 64<<10)
	for {
		n, err := from.Read(buffer)
		if n > 0 {
			time.Sleep(time.Duration(p.wait.Load()))
			if _, err := to.Write(buffer[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}
