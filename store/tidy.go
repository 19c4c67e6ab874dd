package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"corbel/form"
	"corbel/practice"
)

// ErasedFile lists, beside the database file, hashes of the ids of erased clients, so
// that the list is there when the database is not and a backup is put in its place.
const ErasedFile = "erased.txt"

// How long Tidy waits for others who read (our judgement).
const (
	tidyTries = 40
	tidyWait  = 50 * time.Millisecond
)

// Tidy takes what was erased out of the journal of the file too, and writes the list of
// erased ids beside it. In PostgreSQL it writes the tables anew without dead rows; its
// journal is the server's (docs/operations.md).
func (s *Store) Tidy(ctx context.Context) error {
	if s.path == "" {
		_, err := s.write.ExecContext(ctx, "vacuum full docs, operations, frozen, notes, access")
		return err
	}
	if err := s.writeErased(ctx); err != nil {
		return err
	}
	for range tidyTries {
		var busy, pages, moved int
		if err := s.write.QueryRowContext(ctx, "pragma wal_checkpoint(truncate)").Scan(&busy, &pages, &moved); err != nil {
			return err
		}
		if busy == 0 {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(tidyWait):
		}
	}
	return errors.New("it is erased from the database; its journal is still read by others and is emptied when the program starts next")
}

// writeErased writes the list of erased ids beside the file.
func (s *Store) writeErased(ctx context.Context) error {
	var text strings.Builder
	err := s.View(ctx, func(r practice.Reader) error {
		text.Reset()
		list, err := r.Erased()
		for _, e := range list {
			fmt.Fprintln(&text, e.Hash, written(e.At))
		}
		return err
	})
	if err != nil || text.Len() == 0 {
		return err
	}
	return form.WriteFile(filepath.Join(filepath.Dir(s.path), ErasedFile), []byte(text.String()))
}

// ReadErased reads a list of erased ids; a file that is not there is an empty list.
func ReadErased(name string) ([]practice.Erased, error) {
	text, err := os.ReadFile(name)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var out []practice.Erased
	for i, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		hash, at, ok := strings.Cut(line, " ")
		when, err := time.Parse(timeLayout, at)
		if !ok || err != nil || len(hash) != 64 {
			return nil, fmt.Errorf("%s, line %d: not a hash and a time; restore the list from where it was kept", name, i+1)
		}
		out = append(out, practice.Erased{Hash: hash, At: when})
	}
	return out, nil
}
