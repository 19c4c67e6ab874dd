package unit

import "testing"

// fuzz holds any text to the laws of a kind.
func fuzz(f *testing.F, name string, seeds ...string) {
	for _, k := range kinds {
		if k.name != name {
			continue
		}
		for _, s := range append(seeds, k.dim.examples...) {
			f.Add(s)
		}
		f.Fuzz(func(t *testing.T, text string) {
			if err := k.law(text); err != nil {
				t.Fatal(err)
			}
		})
	}
}

func FuzzMass(f *testing.F) {
	fuzz(f, "mass", "5 kg 250 g", "1999.99999999999 kg", "4409.24524369 lb", "82,5 kg", ". kg", "5\u00a0KG", "5 \u212ag", "1e3 kg")
}

func FuzzLength(f *testing.F) {
	fuzz(f, "length", `5'7"`, "5 ft 14 in", "1 km 500 m", "99999.999999 m", " 5 ft 7 in ")
}

func FuzzDuration(f *testing.F) {
	fuzz(f, "duration", "1440:00", "1440:01", "24 h", "1 h 10 min 5 s", "\t3:00\n", "0:00", "65536:00", "+3:00")
}

func FuzzAngle(f *testing.F) {
	fuzz(f, "angle", "-360 deg", "+.5°", "-0 deg", "5 deg -3 deg", "- 5 deg")
}

func FuzzPercent(f *testing.F) { fuzz(f, "percent", "1000%", "82.5 percent", "0.0004%", "90%%") }
