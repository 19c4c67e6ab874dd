package store

import (
	"fmt"
	"sync"
	"testing"

	"corbel/form"
	"corbel/practice"
)

// BenchmarkEdit measures one change of a dose until it is acknowledged.
func BenchmarkEdit(b *testing.B) {
	for _, where := range []string{"sqlite", "postgres"} {
		b.Run(where, func(b *testing.B) {
			place := b.TempDir()
			if where == "postgres" {
				place = address(b)
			}
			p, coach, _ := filled(b, open(b, place))
			seen := rosa(b, p, coach)
			n := 0
			for b.Loop() {
				n++
				out, err := p.Do(b.Context(), coach, dose(fmt.Sprintf("bench-%016d", n), seen, dose2, fmt.Sprintf("3 x %d @ 85%% rir 2", 3+n%2)))
				if err != nil {
					b.Fatal(err)
				}
				seen = &out.Doc
			}
		})
	}
}

// BenchmarkEditsAtOnce measures changes by 200 at once, each of a field of its own,
// until all are acknowledged; its figure of interest is changes a second.
func BenchmarkEditsAtOnce(b *testing.B) {
	for _, where := range []string{"sqlite", "postgres"} {
		b.Run(where, func(b *testing.B) {
			place := b.TempDir()
			if where == "postgres" {
				place = address(b)
			}
			p, coach, _ := filled(b, open(b, place))
			many(b, p, coach, 2*workers/19+1)
			fields, version, text, err := manyFields(b.Context(), p, coach)
			if err != nil {
				b.Fatal(err)
			}
			n := 0
			for b.Loop() {
				n++
				var all sync.WaitGroup
				for w, f := range fields {
					all.Go(func() {
						c := practice.Change{ID: fmt.Sprintf("bench-%08d-%04d", n, w), Kind: practice.BlockDoc, Doc: f.doc, Base: version[f.doc],
							What: "wrote a note", Edits: []practice.Edit{{At: f.at, Was: text[f.doc][f.at], To: fmt.Sprintf("note %d", n)}}}
						if _, err := p.Do(b.Context(), coach, c); err != nil {
							b.Error(err)
						}
					})
				}
				all.Wait()
				for _, f := range fields {
					text[f.doc][f.at] = fmt.Sprintf("note %d", n)
				}
			}
			b.ReportMetric(float64(workers*b.N)/b.Elapsed().Seconds(), "changes/s")
		})
	}
}

// BenchmarkClients500 lists 500 clients once their blocks are judged.
func BenchmarkClients500(b *testing.B) {
	p, coach, _ := filled(b, open(b, b.TempDir()))
	many(b, p, coach, 500)
	for b.Loop() {
		if rows, err := p.Clients(b.Context(), coach, "", form.English); err != nil || len(rows) != 502 {
			b.Fatal(len(rows), err)
		}
	}
}
