package main

import (
	"bytes"
	"net"
	"os"
	"path/filepath"
	"testing"
)

// A demo leaves a port that is in use, unless it was given.
func TestDemoTakesAnotherPort(t *testing.T) {
	t.Parallel()
	busy, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer busy.Close()
	var s settings
	var out bytes.Buffer
	fs := newFlags("demo", "", "", &out)
	s.serveFlags(fs)
	s.Addr, s.Data = busy.Addr().String(), "/tapeline-demo-test" // which CheckReach does not make
	if err := s.settleDemo(fs, &out); err != nil {
		t.Fatal(err)
	}
	if s.Addr == busy.Addr().String() {
		t.Errorf("it listens on %s, want a free port", s.Addr)
	}
	if !bytes.Contains(out.Bytes(), []byte(busy.Addr().String()+" is in use: the demo listens on "+s.Addr)) {
		t.Errorf("it says %q", out.String())
	}
	given := busy.Addr().String()
	if err := fs.Parse([]string{"-addr", given}); err != nil {
		t.Fatal(err)
	}
	if err := s.settleDemo(fs, &out); err != nil || s.Addr != given {
		t.Errorf("%s became %s, %v", given, s.Addr, err)
	}
}

// Root in a private folder gets a data folder that Postgres's account can enter.
func TestDemoTakesAnotherFolder(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("only root runs Postgres as another account")
	}
	private, open := t.TempDir(), filepath.Join("/", "tapeline-demo-test")
	if err := os.Chmod(private, 0o700); err != nil {
		t.Fatal(err)
	}
	data := filepath.Join(private, "none", "data")
	if got, err := reachable(data, open); err != nil || got != open {
		t.Errorf("chose %s, %v; want %s", got, err, open)
	}
	if got, err := reachable(open, data); err != nil || got != open {
		t.Errorf("chose %s, %v; want the first", got, err)
	}
	if _, err := reachable(data); err == nil {
		t.Error("chose a folder that the account cannot enter")
	}
	if _, err := os.Stat(open); !os.IsNotExist(err) {
		t.Errorf("it made %s: %v", open, err)
	}
}
