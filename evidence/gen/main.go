// Gen computes the sensitivities of drills from the body model and writes them into
// evidence/sensitivity.csv; stated rows stay as they are. Run it from the root of the
// repository: go run ./evidence/gen, with the ids of exercises to renew those alone. It
// takes some minutes.
package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/body"
	"corbel/evidence"
	"corbel/exercise"
)

// table is the file that is written.
const table = "evidence/sensitivity.csv"

// leastBodies is in how many bodies an exercise must have a largest load.
const leastBodies = 5

// mostSpread is the SD between bodies from which a computed sensitivity says nothing: the
// limit is then near what the body part weighs, or the posture hardly held (1; our
// judgement).
const mostSpread = 0.5

func main() {
	hash, err := modelHash()
	if err != nil {
		log.Fatal(err)
	}
	text, err := os.ReadFile(table)
	if err != nil {
		log.Fatal(err)
	}
	var out []string
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		id, _, _ := strings.Cut(line, ",")
		if !strings.Contains(line, ","+string(evidence.Computed)+",") || !wanted(id) {
			out = append(out, line)
		}
	}
	bodies, err := evidence.SecantBodies()
	if err != nil {
		log.Fatal(err)
	}
	for _, set := range evidence.Sets() {
		m := evidence.ModelOf(set)
		for _, e := range exercise.Shipped.All() {
			own := slices.ContainsFunc(e.Direct, func(x anatomy.Muscle) bool { return m.NumberOf(x) >= 0 }) // of this set of groups
			if own && wanted(string(e.ID)) && (e.Sides == exercise.EachSide || m.Drill(string(e.ID)) != nil) && len(body.Postures(exercise.Shipped, e)) > 0 {
				out = append(out, rows(bodies, m, e, hash)...)
			}
		}
	}
	if err := os.WriteFile(table, []byte(strings.Join(out, "\n")+"\n"), 0o644); err != nil {
		log.Fatal(err)
	}
}

// wanted says whether an exercise is to be computed: all if none is named.
func wanted(id string) bool { return len(os.Args) == 1 || slices.Contains(os.Args[1:], id) }

// rows are the computed rows of an exercise.
func rows(bodies []evidence.SecantBody, m *evidence.Model, e *exercise.Exercise, hash string) []string {
	var out []string
	for i := range m.Groups {
		g := &m.Groups[i]
		mean, sd, n := evidence.MeanSecant(bodies, exercise.Shipped, e, g)
		if n < leastBodies {
			fmt.Printf("%s: a largest load in %d of %d bodies; left out\n", e.ID, n, len(bodies))
			return nil
		}
		if sd > mostSpread {
			fmt.Printf("%s, %s: SD %.2f between bodies; left out\n", e.ID, g.ID, sd)
			return nil
		}
		if mean > evidence.LeastJ || mean < -evidence.LeastJ {
			out = append(out, fmt.Sprintf("%s,%s,%.2f,%.2f,%s,%s,body-model", e.ID, g.ID, mean, sd, evidence.Computed, hash))
		}
	}
	fmt.Println(strings.Join(out, "\n"))
	return out
}

// modelHash is a hash of the body model and the postures.
func modelHash() (string, error) {
	h := sha256.New()
	for _, pattern := range []string{"body/*.go", "body/*.csv", "exercise/library/*.yaml"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			return "", err
		}
		for _, f := range files {
			if strings.HasSuffix(f, "_test.go") {
				continue
			}
			text, err := os.ReadFile(f)
			if err != nil {
				return "", err
			}
			h.Write(text)
		}
	}
	return hex.EncodeToString(h.Sum(nil))[:12], nil
}
