package store

import (
	"fmt"
	"testing"
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
