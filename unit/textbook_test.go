package unit

import "testing"

// pounds returns n lb.
func pounds(n float64) Mass { return MassOf(n, Lb) }

// Loads of the worked scenarios, all rounded to the nearest 5 lb but the two
// one-repetition maxima, which are rounded to the pound.
// Source: Sheppard & Triplett, Essentials of Strength Training and Conditioning,
// 4th ed., ch. 17 (key nsca-essentials-17).
func TestTextbookLoads(t *testing.T) {
	for _, c := range []struct {
		what             string
		load, part, step float64
		want             string
	}{
		{"10RM 300 lb is 75 % of the 1RM", 300, 1 / 0.75, 5, "400 lb"},
		{"1RM 220 lb, 4 repetitions at 90 %", 220, 0.90, 5, "200 lb"},
		{"front squat 185 lb at 85 %", 185, 0.85, 5, "155 lb"},
		{"incline bench press 100 lb at 85 %", 100, 0.85, 5, "85 lb"},
		{"deadlift 650 lb at 75 %, half a step goes up", 650, 0.75, 5, "490 lb"},
		{"squat 675 lb at 75 %", 675, 0.75, 5, "505 lb"},
		{"bench press 425 lb at 75 %", 425, 0.75, 5, "320 lb"},
		{"shoulder press 255 lb at 75 %", 255, 0.75, 5, "190 lb"},
		{"3RM hang clean 115 lb is 93 % of the 1RM", 115, 1 / 0.93, 1, "124 lb"},
		{"hang clean 1RM 124 lb at 75 %", 124, 0.75, 5, "95 lb"},
		{"3RM push jerk 110 lb is 93 % of the 1RM", 110, 1 / 0.93, 1, "118 lb"},
		{"push jerk 1RM 118 lb at 75 %", 118, 0.75, 5, "90 lb"},
		{"light day, 80 % of 95 lb", 95, 0.80, 5, "75 lb"},
		{"light day, 80 % of 90 lb", 90, 0.80, 5, "70 lb"},
		{"light day, 80 % of 155 lb", 155, 0.80, 5, "125 lb"},
		{"light day, 80 % of 85 lb", 85, 0.80, 5, "70 lb"},
	} {
		got := pounds(c.load * c.part).RoundTo(pounds(c.step))
		if got.Print(Lb) != c.want {
			t.Errorf("%s: %s, want %s", c.what, got.Print(Lb), c.want)
		}
	}
}

// Volume-load is sets times repetitions times the mass moved; for a jump squat
// the mass is that of the system, athlete and bar.
// Source: the same chapter (key nsca-essentials-17).
func TestTextbookVolumeLoad(t *testing.T) {
	if got := pounds(50).Times(2 * 10); got.Print(Lb) != "1000 lb" {
		t.Errorf("2 sets of 10 with 50 lb: %s, want 1000 lb", got.Print(Lb))
	}
	system := MassOf(80, Kg).Plus(MassOf(40, Kg))
	if got := system.Times(4 * 3); got.Print(Kg) != "1440 kg" {
		t.Errorf("4 sets of 3 with 80 kg athlete and 40 kg bar: %s, want 1440 kg", got.Print(Kg))
	}
}

// Plates of a pound add up to whole pounds without rounding: a 45 lb bar with
// two plates of 45 lb a side is 225 lb, which is 102.05828325 kg by the
// definition of the pound (key pound-1959: 225 · 0.45359237).
func TestPoundPlatesAddExactly(t *testing.T) {
	bar, plate := pounds(45), pounds(45)
	total := bar.Plus(plate.Times(4))
	typed, err := ParseMass("225 lb")
	if err != nil || !total.Equal(typed) {
		t.Fatalf("a 45 lb bar and four 45 lb plates are %s, typed 225 lb is %s, %v", total.Print(Lb), typed.Print(Lb), err)
	}
	if typed.Print(Kg) != "102.05828325 kg" || typed.Canonical() != "225 lb" || typed.String() != "225 lb" {
		t.Errorf("225 lb is %s, canonically %s, as typed %s", typed.Print(Kg), typed.Canonical(), typed)
	}
	for _, lb := range []float64{0.25, 0.5, 1, 1.25, 2.5, 5, 10, 25, 35, 45, 55, 100} {
		one := pounds(lb)
		if sum := one.Times(8); !sum.Equal(pounds(8 * lb)) {
			t.Errorf("eight plates of %v lb are %s", lb, sum.Print(Lb))
		}
	}
}

// Whole and half kilograms are exact too, and a kilogram is not a round number
// of pounds.
func TestKilogramPlatesAddExactly(t *testing.T) {
	total := MassOf(20, Kg).Plus(MassOf(25, Kg).Times(4)).Plus(MassOf(1.25, Kg).Times(2)).Plus(MassOf(0.5, Kg).Times(2))
	if total.Print(Kg) != "123.5 kg" || total.Short(Lb) != "272.27 lb" {
		t.Errorf("20 + 4·25 + 2·1.25 + 2·0.5 kg is %s, %s", total.Print(Kg), total.Short(Lb))
	}
}
