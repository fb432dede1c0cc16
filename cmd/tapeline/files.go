package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"tapeline/service/files"
)

// maxInput bounds what is read of an order, in bytes. It is a little over the
// size that an order may have, so that a larger one is refused for its size.
const maxInput = 4<<20 + 1

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

// inputName returns the name of an input in messages.
func inputName(name string) string {
	if name == "-" {
		return "standard input"
	}
	return name
}

// writeAll writes each file completely or not at all: files are written beside
// their places and synced, and renamed when all are complete.
func writeAll(outputs []files.File) (err error) {
	var staged []string
	defer func() {
		for _, s := range staged {
			err = errors.Join(err, ignoreMissing(os.Remove(s)))
		}
	}()
	for _, o := range outputs {
		if info, err := os.Stat(o.Name); err == nil && !info.Mode().IsRegular() {
			return fmt.Errorf("%s is not a regular file", o.Name)
		}
		name, err := stage(o)
		if name != "" {
			staged = append(staged, name)
		}
		if err != nil {
			return cannotWrite(o.Name, err)
		}
	}
	for i, o := range outputs {
		if err := os.Rename(staged[i], o.Name); err != nil {
			return cannotWrite(o.Name, err)
		}
	}
	return nil
}

// cannotWrite names the intended file in an error about the one beside it.
func cannotWrite(name string, err error) error {
	if path, ok := errors.AsType[*os.PathError](err); ok {
		err = path.Err
	}
	return fmt.Errorf("cannot write %s: %w", name, err)
}

// stage writes the data to a new file in the folder of the intended one. It
// returns its name, also with an error, unless there is no file.
func stage(o files.File) (string, error) {
	f, err := os.CreateTemp(filepath.Dir(o.Name), "."+filepath.Base(o.Name)+".*")
	if err != nil {
		return "", err
	}
	_, err = f.Write(o.Data)
	// CreateTemp makes it readable by the owner only; a pattern is no secret from
	// those who share the folder.
	err = errors.Join(err, f.Chmod(0o644), f.Sync(), f.Close())
	return f.Name(), err
}

func ignoreMissing(err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	return err
}
