package body

import (
	"os"
	"testing"
)

// notHeld are the published directions that the model does not show, and why:
// docs/decision/0027-what-the-body-model-cannot-show.md.
var notHeld = map[string]bool{
	"effort of the hip grows with load, more than the knee's": true,
	"gluteus medius: lying on the side over lunge":            true,
	"lumbosacral: hip thrust over squat":                      true,

	"bench press led by the pectorals":                         true,
	"overhead press: infraspinatus behind deltoid and triceps": true,
	"lateral raise led by the middle deltoid":                  true,
	"external rotation led by the infraspinatus":               true,
	"barbell shrug led by the upper trapezius":                 true,
	"preacher curl led by the elbow flexors":                   true,
	"push-up led by the pectorals":                             true,
	"overhead extension led by the triceps":                    true,
}

// Ensure that published directions hold in at least 80 % of drawn clients, and 85 %
// of those of legs and trunk do; those that do not are listed, and are taken off the list
// when they come to hold. Sources stand with each direction. Two hundred clients in
// the long form; with fewer, two standard errors are allowed.
func TestOrderings(t *testing.T) {
	draws, least := 12, 0.55
	switch {
	case os.Getenv("CORBEL_LONG") != "":
		draws, least = 200, OrderingHolds
	case testing.Short():
		draws, least = 3, 0.5
	}
	held, kept := 0, 0
	all := Orderings(draws)
	legs := len(all) - len(armOrderings())
	for i, o := range all {
		if o.KeptBack {
			kept++
		}
		if o.Draws < draws/2 {
			t.Errorf("%s: only %d of %d clients can take the postures", o.Name, o.Draws, draws)
		}
		if i < legs && o.Share() >= least && !notHeld[o.Name] {
			held++
		}
		if !notHeld[o.Name] && o.Share() < least {
			t.Errorf("%s (%s): holds in %d of %d", o.Name, o.Source, o.Held, o.Draws)
		}
		if notHeld[o.Name] && draws >= 200 && o.Share() >= OrderingHolds {
			t.Errorf("%s (%s): holds in %d of %d: take it off the list", o.Name, o.Source, o.Held, o.Draws)
		}
	}
	if float64(held) < 0.85*float64(legs) || 2*kept < len(all) {
		t.Errorf("%d of %d directions of legs and trunk hold, %d of %d were kept back", held, legs, kept, len(all))
	}
}

// Ensure that counts are the same whoever draws.
func TestOrderingsRepeat(t *testing.T) {
	once, twice := Orderings(2), Orderings(2)
	for i := range once {
		if once[i].Held != twice[i].Held || once[i].Draws != twice[i].Draws {
			t.Errorf("%s: %d of %d, then %d of %d", once[i].Name, once[i].Held, once[i].Draws, twice[i].Held, twice[i].Draws)
		}
	}
}
