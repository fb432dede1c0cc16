package main

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"tapeline/db/dbtest"
)

// The disk of the database is full for a while, under load. The test mounts a
// small file system, which only root may.
func TestDiskFull(t *testing.T) {
	t.Parallel()
	dir, err := os.MkdirTemp("", "tapeline-disk-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Remove(dir) })
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=200m,mode=0711"); err != nil {
		t.Skipf("mount a small file system: %v", err)
	}
	t.Cleanup(func() { // after the server has stopped, and its processes are gone
		for range 50 {
			if err = syscall.Unmount(dir, 0); err == nil {
				return
			}
			time.Sleep(100 * time.Millisecond)
		}
		t.Errorf("unmount: %v", err)
	})
	pg := dbtest.NewServerIn(t, filepath.Join(dir, "data"))
	s, r, _ := faultyOn(t, pg.URL())
	ballast := filepath.Join(dir, "ballast")
	s.pace = faultPace()
	ids := s.orders(fewOrders, func() {
		for end := time.Now().Add(faultTime()); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
			fill(t, ballast)
		}
		if err := os.Remove(ballast); err != nil {
			t.Error(err)
		}
	})
	s.refusedSome()
	s.settled(ids, fewOrders, r)
}

// fill appends to a file until the disk is full.
func fill(t *testing.T, file string) {
	f, err := os.OpenFile(file, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		t.Error(err)
		return
	}
	defer f.Close()
	for block := make([]byte, 64<<10); err == nil; {
		_, err = f.Write(block)
	}
	if !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("fill the disk: %v", err)
	}
}
