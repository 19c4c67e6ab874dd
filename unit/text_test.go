package unit

import (
	"math"
	"strings"
	"testing"
)

// readers reads a text as one kind and returns its canonical text.
var readers = map[string]func(string) (string, error){
	"mass":     func(s string) (string, error) { m, err := ParseMass(s); return m.Canonical(), err },
	"length":   func(s string) (string, error) { l, err := ParseLength(s); return l.Canonical(), err },
	"force":    func(s string) (string, error) { f, err := ParseForce(s); return forceDim.print(f.millinewtons), err },
	"angle":    func(s string) (string, error) { a, err := ParseAngle(s); return angleDim.print(a.millidegrees), err },
	"percent":  func(s string) (string, error) { p, err := ParsePercent(s); return p.Canonical(), err },
	"duration": func(s string) (string, error) { d, err := ParseDuration(s); return d.Canonical(), err },
}

// What coaches write, and the one spelling each becomes.
func TestAcceptedTexts(t *testing.T) {
	for _, c := range []struct{ kind, text, want string }{
		{"mass", "82.5 kg", "82.5 kg"}, {"mass", "82.5kg", "82.5 kg"}, {"mass", "82.5\u00a0KG", "82.5 kg"},
		{"mass", "225 lbs", "225 lb"}, {"mass", "225 Pounds", "225 lb"}, {"mass", "500 g", "0.5 kg"},
		{"mass", "5 kg 250 g", "5.25 kg"}, {"mass", ".5 kg", "0.5 kg"}, {"mass", "5. kg", "5 kg"}, {"mass", "0 kg", "0 kg"},
		{"mass", "2000 kg", "2000 kg"}, {"mass", "007 kg", "7 kg"},
		{"length", "171 cm", "171 cm"}, {"length", "1.71 m", "1.71 m"}, {"length", "5 ft 7 in", "67 in"},
		{"length", `5'7"`, "67 in"}, {"length", "5 ft", "5 ft"}, {"length", "5 feet 7.5 inches", "67.5 in"},
		{"length", " 40 m", "40 m"}, {"length", "1 km 500 m", "1500 m"}, {"length", "100 km", "100 km"},
		{"force", "120 N", "120 N"}, {"force", "120 n", "120 N"},
		{"angle", "28 deg", "28 deg"}, {"angle", "28°", "28 deg"}, {"angle", "-12.5 degrees", "-12.5 deg"}, {"angle", "+5 deg", "5 deg"},
		{"percent", "90%", "90%"}, {"percent", "82.5 percent", "82.5%"}, {"percent", "100 %", "100%"},
		{"duration", "3:00", "3:00"}, {"duration", "90 s", "1:30"}, {"duration", "2 min", "2:00"}, {"duration", "0:45", "45 s"},
		{"duration", "1 h 10 min", "70:00"}, {"duration", "1.5 s", "1.5 s"}, {"duration", "90.5 s", "90.5 s"}, {"duration", "24 h", "1440:00"},
	} {
		got, err := readers[c.kind](c.text)
		if err != nil || got != c.want {
			t.Errorf("%s %q reads as %q, %v, want %q", c.kind, c.text, got, err, c.want)
		}
	}
}

// What is refused, where in the text the trouble lies (bytes), and in which
// words.
func TestRefusals(t *testing.T) {
	const mass, length = "; write a mass such as 100 kg or 225 lb", "; write a length such as 171 cm or 5 ft 7 in"
	const time, angle, percent = "; write a time such as 3:00 or 90 s or 2 min", "; write an angle such as 28 deg", "; write a percentage such as 90%"
	long := strings.Repeat("1", 2000)
	for _, c := range []struct {
		kind, text string
		at         int
		want       string
	}{
		{"mass", "", 0, "nothing is written here" + mass},
		{"mass", " \u00a0 ", 0, "nothing is written here" + mass},
		{"mass", "82.5", 4, "the unit of 82.5 is missing" + mass},
		{"mass", "82.5 stone", 5, `"stone" is not a unit of a mass; known are kg, lb, g` + mass},
		{"mass", "82,5 kg", 2, "a comma stands in the number; decimals take a point, thousands no mark" + mass},
		{"mass", "1,000 kg", 1, "a comma stands in the number; decimals take a point, thousands no mark" + mass},
		{"mass", "1.000.5 kg", 5, "the number has two decimal points" + mass},
		{"mass", "5.. kg", 2, "the number has two decimal points" + mass},
		{"mass", ". kg", 0, `". kg" is not a mass` + mass},
		{"mass", "-5 kg", 0, "a mass is never negative" + mass},
		{"mass", " −5 kg", 1, "a mass is never negative" + mass},
		{"mass", "+5 kg", 0, `"+5 kg" is not a mass` + mass},
		{"mass", "2000.5 kg", 0, "2000.5 kg is outside 0 to 2000 kg" + mass},
		{"mass", "4410 lb", 0, "4410 lb is outside 0 to 2000 kg" + mass},
		{"mass", "heavy", 0, `"heavy" is not a mass` + mass},
		{"mass", "kg 5", 0, `"kg 5" is not a mass` + mass},
		{"mass", "5 kg, 3 kg", 4, `"5 kg, 3 kg" is not a mass` + mass},
		{"mass", "5 kg 3 kg", 5, "after kg only a smaller unit can follow" + mass},
		{"mass", "5 kg 1 lb", 5, "kg and lb cannot stand in one value" + mass},
		{"mass", "5 kg 1000 g", 5, "1000 g is not less than 1 kg" + mass},
		{"mass", "1e3 kg", 1, `"e" is not a unit of a mass; known are kg, lb, g` + mass},
		{"mass", "0x10 kg", 1, `"x" is not a unit of a mass; known are kg, lb, g` + mass},
		{"mass", "5 \u212ag", 2, `"` + "\u212a" + `g" is not a unit of a mass; known are kg, lb, g` + mass},
		{"mass", "0.123456789012345 kg", 0, "0.123456789012345 has more than 15 figures" + mass},
		{"mass", "999999999999999 kg", 0, "999999999999999 kg is outside 0 to 2000 kg" + mass},
		{"mass", long + " kg", 0, long[:40] + "... has more than 15 figures" + mass},
		{"mass", strings.Repeat("x", 2000), 0, `"` + strings.Repeat("x", 40) + `..." is not a mass` + mass},
		{"mass", "5" + strings.Repeat("x", 2000), 1, `"` + strings.Repeat("x", 40) + `..." is not a unit of a mass; known are kg, lb, g` + mass},
		{"length", "5 ft 14 in", 5, "14 in is not less than 1 ft" + length},
		{"length", "5 ft 12 in", 5, "12 in is not less than 1 ft" + length},
		{"length", "5.5 ft 7 in", 0, "only the last number can have decimals" + length},
		{"length", "7 in 5 ft", 5, "after in only a smaller unit can follow" + length},
		{"length", "5 ft 7", 6, "the unit of 7 is missing" + length},
		{"length", "1 m 3 in", 4, "m and in cannot stand in one value" + length},
		{"length", "101 km", 0, "101 km is outside 0 to 100 km" + length},
		{"length", "5 miles", 2, `"miles" is not a unit of a length; known are cm, m, mm, km, in, ft, yd` + length},
		{"angle", "361 deg", 0, "361 deg is outside -360 to 360 deg" + angle},
		{"angle", "5 deg -3 deg", 6, `"5 deg -3 deg" is not an angle` + angle},
		{"angle", "- 5 deg", 0, `"- 5 deg" is not an angle` + angle},
		{"angle", "1 rad", 2, `"rad" is not a unit of an angle; known are deg` + angle},
		{"percent", "0.9", 3, "the unit of 0.9 is missing" + percent},
		{"percent", "1001%", 0, "1001% is outside 0% to 1000%" + percent},
		{"percent", "90%%", 3, `"90%%" is not a percentage` + percent},
		{"duration", "3:75", 0, `"3:75" is not minutes and seconds` + time},
		{"duration", "3:5", 0, `"3:5" is not minutes and seconds` + time},
		{"duration", "1:30:00", 0, `"1:30:00" is not minutes and seconds` + time},
		{"duration", "-1:30", 0, `"-1:30" is not minutes and seconds` + time},
		{"duration", "1440:01", 0, "1440:01 is outside 0 s to 24 h" + time},
		{"duration", "25 h", 0, "25 h is outside 0 s to 24 h" + time},
		{"duration", "1 h 90 min", 4, "90 min is not less than 1 h" + time},
		{"duration", "90", 2, "the unit of 90 is missing" + time},
		{"force", "20001 N", 0, "20001 N is outside 0 to 20000 N; write a force such as 120 N"},
		{"force", "12 kg", 3, `"kg" is not a unit of a force; known are N; write a force such as 120 N`},
	} {
		_, err := readers[c.kind](c.text)
		syntax, ok := err.(*SyntaxError)
		if !ok || syntax.Error() != c.want || syntax.Offset() != c.at {
			t.Errorf("%s %.60q is refused at %v with\n%v\nwant at %d\n%s", c.kind, c.text, at(err), err, c.at, c.want)
		}
	}
}

// at returns the offset of a syntax error, or -1.
func at(err error) int {
	if s, ok := err.(*SyntaxError); ok {
		return s.At
	}
	return -1
}

// What people read on a sheet: few figures and no needless noughts.
func TestShortTexts(t *testing.T) {
	mass := func(s string) Mass { m, err := ParseMass(s); must(t, err); return m }
	length := func(s string) Length { l, err := ParseLength(s); must(t, err); return l }
	time := func(s string) Duration { d, err := ParseDuration(s); must(t, err); return d }
	for _, c := range []struct{ got, want string }{
		{mass("225 lb").Short(Kg), "102.06 kg"}, {mass("225 lb").Short(Lb), "225 lb"}, {mass("100 kg").Short(""), "100 kg"},
		{mass("100 kg").Print(""), "100 kg"}, {string(mass("5 lb").Unit()), "lb"}, {string(mass("500 g").Unit()), "kg"},
		{string(Mass{}.Unit()), "kg"}, {Mass{}.String(), "0 kg"}, {MassOf(45, Lb).String(), "20.41165665 kg"},
		{length("171.26 cm").Short(Cm), "171.3 cm"}, {length("171 cm").Short(Inch), "5 ft 7 in"}, {length("11.4 in").Short(Inch), "11 in"},
		{length("5 ft 11.6 in").Short(Inch), "6 ft 0 in"}, {LengthOf(1.71).String(), "171 cm"},
		{time("90 s").Clock(), "1:30"}, {time("59.6 s").Clock(), "1:00"}, {DurationOf(90).String(), "1:30"}, {DurationOf(0.25).String(), "0.25 s"},
		{PercentOf(82.5).String(), "82.5%"}, {Figures(2.50, 2), "2.5"}, {Figures(-0.001, 2), "0"}, {Figures(100, 0), "100"}, {Figures(100, 2), "100"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// Values that are equal however they were typed, and what counts as nothing.
func TestEqualAndZero(t *testing.T) {
	kg, _ := ParseMass("0.5 kg")
	g, _ := ParseMass("500 g")
	in, _ := ParseLength("1 in")
	cm, _ := ParseLength("2.54 cm")
	if !kg.Equal(g) || !in.Equal(cm) || kg.Cmp(g) != 0 {
		t.Error("the same quantity in two units is not equal")
	}
	typed, _ := ParseMass("0 kg")
	if typed.IsZero() || !(Mass{}).IsZero() || !MassOf(0, Kg).IsZero() || kg.IsZero() {
		t.Error("only a mass without text and without kilograms is nothing")
	}
}

// A caller who did not bound a number meets a panic, not a wrong quantity.
func TestPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"MassOf/NaN":       func() { MassOf(math.NaN(), Kg) },
		"MassOf/negative":  func() { MassOf(-1, Lb) },
		"MassOf/huge":      func() { MassOf(math.Inf(1), Kg) },
		"Plus":             func() { MassOf(1500, Kg).Plus(MassOf(1500, Kg)) },
		"Times/many":       func() { MassOf(1500, Kg).Times(2) },
		"Times/overflow":   func() { MassOf(1500, Kg).Times(math.MaxInt) },
		"Times/negative":   func() { MassOf(0, Kg).Times(-1) },
		"RoundTo":          func() { MassOf(1, Kg).RoundTo(Mass{}) },
		"LengthOf/NaN":     func() { LengthOf(Metre(math.NaN())) },
		"LengthOf/far":     func() { LengthOf(100_001) },
		"DurationOf/long":  func() { DurationOf(86_401) },
		"DurationOf/below": func() { DurationOf(-1) },
		"PercentOf":        func() { PercentOf(1001) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if s, ok := recover().(string); !ok || !strings.HasPrefix(s, "unit: ") {
					t.Errorf("the panic is %q, want one that starts with the package", s)
				}
			}()
			f()
			t.Error("no panic")
		})
	}
}
