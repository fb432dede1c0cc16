package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// maxInput is the most that is read of an order: a little over what one may
// be, so that a larger one is told so.
const maxInput = 1<<20 + 1

// readInput reads a file, or standard input for "-".
func readInput(name string, stdin io.Reader) ([]byte, error) {
	if name == "-" {
		return io.ReadAll(io.LimitReader(stdin, maxInput))
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, maxInput))
}

// inputName is how messages call an input.
func inputName(name string) string {
	if name == "-" {
		return "standard input"
	}
	return name
}

// output is a file to be written.
type output struct {
	name string
	data []byte
}

// writeAll writes each file whole or not at all: it is written beside its
// place and synced, and only when all are there do they take their names.
func writeAll(outputs []output) (err error) {
	var staged []string
	defer func() {
		for _, s := range staged {
			err = errors.Join(err, ignoreMissing(os.Remove(s)))
		}
	}()
	for _, o := range outputs {
		if info, err := os.Stat(o.name); err == nil && !info.Mode().IsRegular() {
			return fmt.Errorf("%s is not a regular file", o.name)
		}
		name, err := stage(o)
		if name != "" {
			staged = append(staged, name)
		}
		if err != nil {
			return cannotWrite(o.name, err)
		}
	}
	for i, o := range outputs {
		if err := os.Rename(staged[i], o.name); err != nil {
			return cannotWrite(o.name, err)
		}
	}
	return nil
}

// cannotWrite names the file that was to be written, not the one beside it.
func cannotWrite(name string, err error) error {
	if path, ok := errors.AsType[*os.PathError](err); ok {
		err = path.Err
	}
	return fmt.Errorf("cannot write %s: %w", name, err)
}

// stage writes the output to a new file in its folder and returns its name,
// also with an error once there is one.
func stage(o output) (string, error) {
	f, err := os.CreateTemp(filepath.Dir(o.name), "."+filepath.Base(o.name)+".*")
	if err != nil {
		return "", err
	}
	_, err = f.Write(o.data)
	// CreateTemp makes it the owner's alone; a pattern is no secret from those
	// with whom the folder is shared.
	err = errors.Join(err, f.Chmod(0o644), f.Sync(), f.Close())
	return f.Name(), err
}

func ignoreMissing(err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	return err
}
