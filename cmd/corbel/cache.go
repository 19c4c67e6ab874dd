package main

import (
	"fmt"
	"path/filepath"
	"time"

	"corbel/body"
)

// cacheFolder is the variable that names the folder of the cache; "off" keeps
// nothing.
const cacheFolder = "CORBEL_CACHE"

// cacheOf is the cache of solved bodies: in the folder that the variable names, else
// in the user's folder for such files.
func cacheOf(variable func(string) string, userDir func() (string, error), now func() time.Time) *body.Cache {
	dir := variable(cacheFolder)
	if dir == "off" {
		return nil
	}
	if dir == "" {
		user, err := userDir()
		if err != nil {
			return nil // no home: everything is computed anew
		}
		dir = filepath.Join(user, "corbel", "body")
	}
	return &body.Cache{Dir: dir, Most: body.CacheMost, Now: now}
}

// cacheCmd groups what concerns the cache.
type cacheCmd struct {
	Clear cacheClearCmd `cmd:"" help:"Remove every solved body, as when a client is erased; they are computed again when asked for."`
	Size  cacheSizeCmd  `cmd:"" help:"Say where the cache is and how much it holds."`
}

type cacheClearCmd struct{}

// Run empties the cache.
func (cacheClearCmd) Run(a *app) error {
	if a.cache == nil {
		fmt.Fprintln(a.out, "there is no cache")
		return nil
	}
	n, err := a.cache.Clear()
	if err != nil {
		return fmt.Errorf("%s: %w; check who may write there", a.cache.Dir, err)
	}
	fmt.Fprintf(a.out, "removed %d files from %s\n", n, a.cache.Dir)
	return nil
}

type cacheSizeCmd struct{}

// Run says what the cache holds.
func (cacheSizeCmd) Run(a *app) error {
	if a.cache == nil {
		fmt.Fprintln(a.out, "there is no cache")
		return nil
	}
	n, size := a.cache.Size()
	fmt.Fprintf(a.out, "%s: %d files, %d of at most %d kB\n", a.cache.Dir, n, size>>10, a.cache.Most>>10)
	return nil
}
