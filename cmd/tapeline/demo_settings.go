package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"syscall"

	"tapeline/service/app"
)

// demoData is the data folder of a demo that root runs where Postgres, which never
// runs as root, cannot enter.
const demoData = "/var/lib/tapeline-demo"

// settleDemo chooses another port and another data folder if those by default
// cannot be used. It leaves what was given.
func (s *settings) settleDemo(fs *flag.FlagSet, stdout io.Writer) error {
	given := map[string]bool{}
	fs.Visit(func(f *flag.Flag) { given[f.Name] = true })
	if !given["addr"] {
		wanted := s.Addr
		if err := s.takeFreePort(); err != nil {
			return err
		}
		if s.Addr != wanted {
			fmt.Fprintf(stdout, "%s is in use: the demo listens on %s\n", wanted, s.Addr)
		}
	}
	if s.Database == "" && !given["data"] {
		folder, err := reachable(s.Data, demoData)
		if err != nil {
			return err
		}
		if folder != s.Data {
			fmt.Fprintf(stdout, "Postgres cannot enter this folder: the data are in %s\n", folder)
		}
		s.Data = folder
	}
	return nil
}

// takeFreePort changes the port to a free one if another program listens on it.
// Until the server listens, somebody may take that too; then the server says so.
func (s *settings) takeFreePort() error {
	l, err := net.Listen("tcp", s.Addr)
	if errors.Is(err, syscall.EADDRINUSE) {
		host, _, splitErr := net.SplitHostPort(s.Addr)
		if splitErr != nil {
			return splitErr
		}
		if l, err = net.Listen("tcp", net.JoinHostPort(host, "0")); err == nil {
			s.Addr = l.Addr().String()
		}
	}
	if err != nil {
		return err
	}
	return l.Close()
}

// reachable returns the first folder that the private Postgres can reach.
func reachable(folders ...string) (string, error) {
	var barred error
	for _, folder := range folders {
		err := app.CheckReach(folder)
		if err == nil {
			return folder, nil
		}
		if !errors.Is(err, app.ErrBarred) {
			return "", err
		}
		barred = errors.Join(barred, err)
	}
	return "", barred
}
