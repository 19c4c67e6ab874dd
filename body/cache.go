package body

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"embed"
	"encoding/gob"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// A Cache keeps answers of the body model in files, so that the same body is not
// solved again. A key is the SHA-256 of the numbers of the body, the postures and
// the model itself, so no name stands in key or file, and a changed model reads
// nothing that an older one wrote. Files are written beside and renamed; one that
// cannot be read is computed anew. Several processes may use one folder. The nil
// Cache keeps nothing.
type Cache struct {
	Dir  string
	Most int64 // bytes all files may take; beyond, those not used longest go
	Now  func() time.Time
}

// CacheMost is the size that is allowed if nothing else is said, bytes (our
// judgement): about ten thousand exercises.
const CacheMost = 100 << 20

//go:embed *.csv *.go
var modelFiles embed.FS

// modelSum is the SHA-256 of the model: every source file and table of it that is
// no test.
var modelSum = func() string {
	sum := sha256.New()
	files, err := fs.Glob(modelFiles, "*")
	if err != nil {
		panic(err)
	}
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		b, err := modelFiles.ReadFile(f)
		if err != nil {
			panic(err)
		}
		fmt.Fprintf(sum, "%s %d\n", f, len(b))
		sum.Write(b)
	}
	return hex.EncodeToString(sum.Sum(nil))
}()

// cacheKey is the name of the file of an answer.
func cacheKey(what string, parts ...any) string {
	sum := sha256.New()
	fmt.Fprintf(sum, "%s %s\n", what, modelSum)
	for _, p := range parts {
		switch p := p.(type) {
		case map[string][2]float64:
			for _, k := range sortedKeys(p) {
				fmt.Fprintf(sum, "%s %x\n", k, p[k])
			}
		default:
			fmt.Fprintf(sum, "%x %+v\n", p, p)
		}
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// AskCached is [Ask] with its answers kept.
func AskCached(c *Cache, b *Body, s *Strength, postures []Posture, load float64) (*Asked, error) {
	if c == nil {
		return Ask(b, s, postures, load)
	}
	var text strings.Builder
	for _, p := range postures {
		fmt.Fprintf(&text, "%s\n%+v\n%+v\n%+v\n", p.Pose.Name, p.Pose.Loads, p.Pose.Contacts, p.Pose.Targets)
	}
	belief := StrengthBelief{}
	if s.Belief != nil {
		belief = *s.Belief
	}
	key := cacheKey("asked", b.Measures, belief, s.Sex, s.Mass, s.Height, s.Level, s.Deviation, s.Scale, load, text.String())
	out := &Asked{}
	if c.get(key, out) {
		return out, nil
	}
	out, err := Ask(b, s, postures, load)
	if err == nil {
		c.put(key, out)
	}
	return out, err
}

// get reads an answer; false where there is none or it is damaged.
func (c *Cache) get(key string, into any) bool {
	if c == nil {
		return false
	}
	path := filepath.Join(c.Dir, key)
	raw, err := os.ReadFile(path)
	if err != nil || len(raw) < sha256.Size {
		return false
	}
	sum, body := raw[:sha256.Size], raw[sha256.Size:]
	if want := sha256.Sum256(body); !bytes.Equal(sum, want[:]) || gob.NewDecoder(bytes.NewReader(body)).Decode(into) != nil {
		return false
	}
	if c.Now != nil {
		_ = os.Chtimes(path, c.Now(), c.Now()) // used now; where it cannot be noted it only goes earlier
	}
	return true
}

// put writes an answer. A cache that cannot be written is no error: the answer is
// there, and will be computed again.
func (c *Cache) put(key string, from any) {
	if c == nil {
		return
	}
	var body bytes.Buffer
	if gob.NewEncoder(&body).Encode(from) != nil || os.MkdirAll(c.Dir, 0o700) != nil {
		return
	}
	sum := sha256.Sum256(body.Bytes())
	f, err := os.CreateTemp(c.Dir, "new-*")
	if err != nil {
		return
	}
	_, err = f.Write(append(sum[:], body.Bytes()...))
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), filepath.Join(c.Dir, key))
	}
	if err != nil {
		_ = os.Remove(f.Name())
		return
	}
	c.shrink()
}

// A cached is one file of the cache.
type cached struct {
	path string
	size int64
	used time.Time
}

// files lists the files of the cache, those not used longest first.
func (c *Cache) files() (all []cached, size int64) {
	list, err := os.ReadDir(c.Dir)
	if err != nil {
		return nil, 0
	}
	for _, e := range list {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() {
			continue // another process took it
		}
		all = append(all, cached{filepath.Join(c.Dir, e.Name()), info.Size(), info.ModTime()})
		size += info.Size()
	}
	slices.SortFunc(all, func(x, y cached) int { return cmp.Or(x.used.Compare(y.used), cmp.Compare(x.path, y.path)) })
	return all, size
}

// shrink removes what was not used longest until the rest fits.
func (c *Cache) shrink() {
	all, size := c.files()
	for _, f := range all {
		if size <= c.Most {
			return
		}
		if os.Remove(f.path) == nil {
			size -= f.size
		}
	}
}

// Size counts the files of the cache and their bytes.
func (c *Cache) Size() (files int, bytes int64) {
	all, size := c.files()
	return len(all), size
}

// Clear removes every file of the cache and says how many.
func (c *Cache) Clear() (files int, err error) {
	all, _ := c.files()
	for _, f := range all {
		if e := os.Remove(f.path); e != nil && !errors.Is(e, fs.ErrNotExist) {
			err = errors.Join(err, e)
			continue
		}
		files++
	}
	return files, err
}
