package session

import (
	"errors"
	"io/fs"
	"math"
	"os"
	"regexp"
	"testing"
	"testing/fstest"

	"corbel/body"
	"corbel/client"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
)

var idLine = regexp.MustCompile(`(?m)^id: ([a-z0-9-]{1,40})$`)

// FuzzFilesToShares reads any two texts as an exercise and a client, and takes what can
// be read the whole way: body, postures, moments, largest load, shares. Nothing
// panics, no number is none, and a posture that cannot be taken says what cannot be met.
func FuzzFilesToShares(f *testing.F) {
	clients, err := fs.Glob(examples.Files, "*-client.yaml")
	if err != nil || len(clients) == 0 {
		f.Fatal("no examples: ", err)
	}
	who, err := fs.ReadFile(examples.Files, clients[0])
	if err != nil {
		f.Fatal(err)
	}
	for _, id := range []string{"back-squat", "plank", "clamshell", "leg-press", "knee-extension", "single-leg-romanian-deadlift"} {
		src, err := os.ReadFile("../exercise/library/" + id + ".yaml")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src, who)
	}
	today, _ := form.ParseDate("2026-12-02")
	f.Fuzz(func(t *testing.T, e, c []byte) {
		id := idLine.FindSubmatch(e)
		if id == nil {
			return
		}
		l, err := exercise.Read(fstest.MapFS{string(id[1]) + ".yaml": {Data: e}})
		if err != nil {
			return
		}
		who, err := client.Read("c.yaml", c, exercise.Shipped.Name)
		if err != nil {
			return
		}
		b, err := NewAthlete(who, l, nil, today).NewBody(nil)
		if err != nil {
			return
		}
		one := l.All()[0]
		asked, err := b.Ask(one, -1)
		if err != nil {
			if i := (*body.Impossible)(nil); errors.As(err, &i) && i.Target == "" {
				t.Fatalf("%v: names no target", err)
			}
			return
		}
		for _, x := range []float64{asked.Load, asked.Largest.Load, asked.Largest.Low, asked.Largest.High} {
			if math.IsNaN(x) {
				t.Fatalf("%+v", asked.Largest)
			}
		}
		for _, s := range b.Shares(who, one, 0) {
			if !(s.Value > 0 && s.Value <= 1) {
				t.Fatalf("%+v", s)
			}
		}
	})
}
