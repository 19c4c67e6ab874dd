package exercise

import (
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"
)

// Ensure that what is wrong in a posture is said with its line and column, what it
// is, and the nearest known name.
func TestPostureRefusals(t *testing.T) {
	src, err := files.ReadFile("library/back-squat.yaml")
	if err != nil {
		t.Fatal(err)
	}
	squat := string(src)
	for _, c := range []struct{ old, new, want string }{
		{"thigh=40", "tigh=40", `"tigh" is not a target; nearest: thigh`},
		{"!ankle=20", "!ankle.x=20", "a side is .r or .l, not .x"},
		{"lumbar=0", "lumbar.r=0", "lumbar has no side"},
		{"stand=0,0.1H,20", "stand=0,0.1,20", "needs a unit"},
		{"stand=0,0.1H,20", "stand=0,0.1h,20", "needs a unit"},
		{"stand=0,0.1H,20", "stand=0", "stand needs a length, a length, an angle and perhaps a length; 1 stand here"},
		{"thigh=40", "thigh=4-0", "is not a number"},
		{"thigh=40", "thigh=1e2", "is not a number"},
		{"thigh=40", "thigh=40m", "angle in degrees"},
		{"thigh=40", "thigh", "thigh needs an angle"},
		{"thigh=40", "thigh=40 thigh=30", "stands twice"},
		{"contacts: [foot]", "contacts: [foots]", `"foots" is not a contact; nearest: foot`},
		{"contacts: [foot]", "contacts: [foot wieght=1]", `"wieght" is not a contact option; nearest: weight`},
		{"contacts: [foot]", "contacts: [foot=1]", "foot takes no number"},
		{"contacts: [foot]", "contacts: [foot weight=0]", "outside 0.05 to 10"},
		{"trunk=-0.04H,0.017H", "pad on=shnk", "on=shnk has no meaning here; write one of shank, thigh, hand; nearest: shank"},
		{"trunk=-0.04H,0.017H", "cable=1m,1m,0 push=over", "push=over has no meaning"},
		{"trunk=-0.04H,0.017H", "cable=1m,_,0", "cable needs its numbers"},
		{"trunk=-0.04H,0.017H", "band=kne", `a band cannot be at "kne"`},
		{"thigh=40", "thigh=40 drop=thihg", `"thihg" is not a target; nearest: thigh`},
		{"thigh=40", "prot=mid", "mid stands for the first number"},
		{"trunk=-0.04H,0.017H", "trunk=-0.04H", "trunk needs a length, a length; 1 stand here"},
		{"postures:\n", "postures:\n  like: back-squad\n", `no exercise is called "back-squad"; nearest: back-squat`},
		{"postures:\n", "postures:\n  like: back-squat\n", "in a circle"},
	} {
		text := strings.Replace(squat, c.old, c.new, 1)
		if text == squat {
			t.Fatalf("%s is not in the file", c.old)
		}
		_, err := Read(fstest.MapFS{"back-squat.yaml": {Data: []byte(text)}})
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "back-squat.yaml:") {
			t.Errorf("%s: got %v, want %q", c.new, err, c.want)
		}
	}
}

// Ensure that a variant inherits what it does not say, replaces what it says again,
// by side where it names one, and drops what it is told to.
func TestPosesAreInherited(t *testing.T) {
	terms := func(s string) []Term {
		var x Targets
		if err := x.UnmarshalText([]byte(s)); err != nil {
			t.Fatal(err)
		}
		return x.Terms
	}
	for _, c := range []struct{ base, over, want string }{
		{"hip=10 knee=20", "knee=30", "hip=10 knee=30"},
		{"hip=10 knee=20", "knee.r=30", "hip=10 knee.l=20 knee.r=30"},
		{"hip.r=10 hip.l=20", "hip=5", "hip=5"},
		{"hip.r=10 hip.l=20", "hip.l=5", "hip.r=10 hip.l=5"},
		{"hip=10 knee=20", "drop=knee", "hip=10"},
		{"hip=10", "drop=hip !hip=12", "hip=12"},
	} {
		got := ""
		for _, x := range lay(terms(c.base), terms(c.over)) {
			side := ""
			if x.Side != NoSide {
				side = [2]string{".r", ".l"}[x.Side]
			}
			_, value, _ := strings.Cut(x.Text, "=")
			got += " " + x.Name + side + "=" + value
		}
		if got[1:] != c.want {
			t.Errorf("%s over %s: %s, want %s", c.over, c.base, got[1:], c.want)
		}
	}
	front := Shipped.Poses(Shipped.ByID("front-squat"))
	if len(front) != 3 || front[2].Name != "bottom" || front[0].Loads[0].Text != "trunk=0.045H,0.015H" || front[0].Contacts[0].Name != "foot" {
		t.Errorf("the front squat has %+v", front)
	}
	in := Shipped.Poses(Shipped.ByID("hip-adduction-machine")) // writes both poses of the one it is like, the other way round
	if len(in) != 2 || in[0].Name != "open" || in[1].Name != "closed" {
		t.Errorf("the hip adduction machine has %+v", in)
	}
}

// Ensure that any text is read or refused, and that what is read is written as it
// stood.
func TestTargetsReadAndWrite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`([!~]?(hip|knee|stand|hand-at|balance|drop|x)(\.[rlx])?(=[-0-9.,_mHa-z]{0,12})? ){0,5}`).Draw(t, "text")
		var x Targets
		if err := x.UnmarshalText([]byte(s)); err != nil {
			if err.Error() == "" {
				t.Fatal("an error says nothing")
			}
			return
		}
		b, _ := x.MarshalText()
		if got, want := string(b), strings.Join(strings.Fields(s), " "); got != want {
			t.Fatalf("%q is written %q", want, got)
		}
	})
}

// Ensure that the manual names every target, contact, load, option and unit.
func TestManualNamesEverything(t *testing.T) {
	page, err := os.ReadFile("../docs/postures.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range slices.Concat(TargetNames(), ContactNames(), LoadNames(), Units(), slices.Collect(keys(options))) {
		if !strings.Contains(string(page), "`"+n+"`") && !strings.Contains(string(page), "`"+n+"=") {
			t.Errorf("docs/postures.md does not name %s", n)
		}
	}
}
