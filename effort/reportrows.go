package effort

// The published protocols, each with its inputs and its source. Loads given as an
// nRM are 1/(1 + k (n-1)); k is reportK or the value with which the study's own
// first set is met; every set is to failure unless a goal stands there; a
// repetition takes 3 s; the rest follows every set, also between exercises. All
// inputs are those of fatigue-appendix unless a note says otherwise.

const (
	reportK       = 0.0285 // k of all protocols without their own (1; fatigue-appendix)
	benchRawK     = 0.0280 // bench, 14 trained men (1; mitter-2022)
	sperettaK     = 0.0335 // bench press of speretta-2012 (1; fatigue-appendix)
	straightAfter = 5.0    // "straight after" (s; our reading, see the notes)

	seen       = "seen"
	secondHand = "second hand"
)

// reportGroup is one table of the report.
type reportGroup struct {
	name   string
	fitted bool
	trials []trial
}

func reportGroups() []reportGroup {
	return []reportGroup{
		{"repetitions at a load", false, loadTrials()},
		{"sets and rest, one exercise", true, restTrials()},
		{"sets and rest, several exercises", true, severalTrials()},
		{"sets and rest, not fitted", false, unfittedRestTrials()},
		{"order of exercises", true, orderTrials()},
		{"order of exercises, not fitted", false, unfittedOrderTrials()},
	}
}

// rm returns the load of an nRM.
func rm(n float64) float64 { return FreshLoad(n, reportK) }

// kMeeting returns the k with which n repetitions are possible at load p.
func kMeeting(p, n float64) float64 { return (1 - p) / (p * (n - 1)) }

// straight is a protocol of equal sets of one exercise.
func straight(exercise string, load, k, rest float64, sets int) []protocol {
	return []protocol{{{exercise: exercise, load: load, k: k, sets: sets, rest: rest}}}
}

// inOrder is a protocol of several exercises at the same load, one after another.
func inOrder(load, rest float64, sets int, exercises ...string) []protocol {
	var p protocol
	for _, e := range exercises {
		p = append(p, bout{exercise: e, load: load, k: reportK, sets: sets, rest: rest})
	}
	return []protocol{p}
}

// paired is a protocol of rounds of two exercises: gap seconds between the two,
// rest after the pair.
func paired(load, gap, rest float64, rounds int, first, second string) []protocol {
	var p protocol
	for range rounds {
		p = append(p,
			bout{exercise: first, load: load, k: reportK, sets: 1, rest: gap},
			bout{exercise: second, load: load, k: reportK, sets: 1, rest: rest})
	}
	return []protocol{p}
}

// doubled is a protocol of two variants of each exercise, each with its own pool.
func doubled(load, rest float64, sets int, exercises ...string) []protocol {
	var p protocol
	for _, e := range exercises {
		for _, variant := range []string{"", ", second variant"} {
			p = append(p, bout{exercise: e, variant: variant, load: load, k: reportK, sets: sets, rest: rest})
		}
	}
	return []protocol{p}
}

// counted is a protocol of sets of a fixed number of repetitions.
func counted(load, rest float64, sets int, reps float64, exercises ...string) []protocol {
	p := inOrder(load, rest, sets, exercises...)
	for i := range p[0] {
		p[0][i].goal = Count(reps)
	}
	return p
}

// trials collects the rows of a group.
type trials []trial

// add appends a published figure the constants were fitted to, with the trial's
// printed prediction and error.
func (t *trials) add(study, condition, unit string, published, printed, printedError float64, p []protocol, m measure, source string) {
	*t = append(*t, trial{study: study, condition: condition, unit: unit,
		published: known(published), printed: known(printed), printedError: known(printedError),
		protocols: p, measure: m, status: seen, source: source})
}

// direction appends a row of which only a direction or a pattern was published.
func (t *trials) direction(study, condition, unit, words string, printed float64, p []protocol, m measure, note, source string) {
	*t = append(*t, trial{study: study, condition: condition, unit: unit, direction: words,
		printed: known(printed), protocols: p, measure: m, status: seen, note: note, source: source})
}

func loadTrials() []trial {
	at := func(study, condition string, published, printed float64, printedError Figure, p, k float64, status, source string) trial {
		return trial{study: study, condition: condition, unit: "repetitions",
			published: known(published), printed: known(printed), printedError: printedError,
			measure: curveAt(p, k), status: status, source: source}
	}
	const bench = "bench press, 14 trained men, k from these"
	none := Figure{} // for the bench rows only an rmse is printed, 0.07 repetitions
	return []trial{
		at(bench, "90 %", 4.86, 4.9, none, 0.9, benchRawK, seen, "mitter-2022"),
		at(bench, "80 %", 9.86, 9.9, none, 0.8, benchRawK, seen, "mitter-2022"),
		at(bench, "70 %", 16.29, 16.2, none, 0.7, benchRawK, seen, "mitter-2022"),
		at("leg press, weightlifters, k from 70 %", "80 %", 11.8, 10.8, known(-8), 0.8, 0.0254, secondHand, "richens-cleather-2014"),
		at("leg press, weightlifters, k from 70 %", "90 %", 7.0, 5.4, known(-23), 0.9, 0.0254, secondHand, "richens-cleather-2014"),
		at("leg press, runners, k from 70 %", "80 %", 19.8, 23.7, known(20), 0.8, 0.0110, secondHand, "richens-cleather-2014"),
		at("leg press, runners, k from 70 %", "90 %", 10.8, 11.1, known(3), 0.9, 0.0110, secondHand, "richens-cleather-2014"),
	}
}

func restTrials() []trial {
	var t trials
	const reps, ofFirst, ofOther = "repetitions", "% of set 1", "%"

	// for these five rows a range of errors is printed, -3 to +3 %
	pooled := straight("bench press", rm(12), reportK, 105, 6)
	t.add("pooled, 29 studies", "set 2 of 12RM, rest mixed (105 s)", ofFirst, 70, 68, -3, pooled, percentOfSet(1, 0), "nuzzo-2024b")
	t.add("pooled, 29 studies", "set 3", ofFirst, 55, 56, 3, pooled, percentOfSet(2, 0), "nuzzo-2024b")
	t.add("pooled, 29 studies", "set 4", ofFirst, 50, 50, 3, pooled, percentOfSet(3, 0), "nuzzo-2024b")
	t.add("pooled, 29 studies", "set 5", ofFirst, 45, 46, 3, pooled, percentOfSet(4, 0), "nuzzo-2024b")
	t.add("pooled, 29 studies", "set 6", ofFirst, 45, 44, -3, pooled, percentOfSet(5, 0), "nuzzo-2024b")

	long := straight("leg extension", 0.8, kMeeting(0.8, 9.4), 180, 3)
	short := straight("leg extension", 0.8, kMeeting(0.8, 10.8), 60, 3)
	t.add("knee extension 80 %", "3 min, set 2 (set 1: 9.4)", reps, 7.0, 7.2, 4, long, setOf(1), "rbme-2007")
	t.add("knee extension 80 %", "3 min, set 3", reps, 6.4, 6.3, -2, long, setOf(2), "rbme-2007")
	t.add("knee extension 80 %", "1 min, set 2 (set 1: 10.8)", reps, 5.6, 6.1, 9, short, setOf(1), "rbme-2007")
	t.add("knee extension 80 %", "1 min, set 3", reps, 4.8, 5.1, 5, short, setOf(2), "rbme-2007")

	rests := func(a, b float64) []protocol {
		return append(straight("bench press", 0.75, reportK, a, 2), straight("bench press", 0.75, reportK, b, 2)...)
	}
	t.add("bench press 75 %", "work of set 2, 1 min against 5 min", ofOther, 81, 68, -16, rests(60, 300), percentOfOther(1), "richmond-2004")
	t.add("bench press 75 %", "work of set 2, 3 min against 5 min", ofOther, 87, 93, 6, rests(180, 300), percentOfOther(1), "richmond-2004")

	three := straight("bench press", 0.7, kMeeting(0.7, 15), 120, 3)
	t.add("three sets at 70 %", "2 min, set 2 of set 1 (mid-range 65-72)", ofOther, 68.5, 70, 3, three, percentOfSet(1, 0), "motriz-2013")
	t.add("three sets at 70 %", "2 min, set 3 of set 2 (mid-range 64-78)", ofOther, 71, 84, 18, three, percentOfSet(2, 1), "motriz-2013")

	t.add("bench press, 5 sets 70-85 %", "1 min, total", reps, 26.7, 27.3, 2, sperettaSets(60), total(0, 0), "speretta-2012")
	t.add("bench press, 5 sets 70-85 %", "2 min, total", reps, 33.2, 33.1, 0, sperettaSets(120), total(0, 0), "speretta-2012")

	t.add("leg press 15RM, older women", "total of 3 sets, 3 min against 1 min", ofOther, 129, 120, -7,
		append(straight("leg press", rm(15), reportK, 180, 3), straight("leg press", rm(15), reportK, 60, 3)...),
		totalPercent(0, 0, 0, 0), "jambassi-2013")

	var thesis []protocol
	for _, rest := range []float64{60, 180, 300} {
		thesis = append(thesis, straight("leg press", 0.85, kMeeting(0.85, 12.4), rest, 3)...)
	}
	t.add("leg press 85 %, student thesis", "set 2, mean of 1, 3, 5 min (set 1: 12.4)", reps, 10.4, 9.1, -13, thesis, meanOverRuns(1), "leg-press-thesis-2015")
	t.add("leg press 85 %, student thesis", "set 3", reps, 9.5, 8.0, -16, thesis, meanOverRuns(2), "leg-press-thesis-2015")

	return t
}

func severalTrials() []trial {
	var t trials
	const reps = "repetitions"
	legs := []string{"leg press", "leg extension", "leg curl"}
	arms := []string{"bench press", "fly", "pushdown"}
	t.add("leg press, extension, curl, 3 x 10RM", "2 min, total of 9 sets", reps, 66.7, 65.6, -2, inOrder(rm(10), 120, 3, legs...), total(0, 0), "senna-2009")
	t.add("leg press, extension, curl, 3 x 10RM", "5 min", reps, 80.9, 76.5, -5, inOrder(rm(10), 300, 3, legs...), total(0, 0), "senna-2009")
	t.add("bench press, fly, pushdown, 3 x 10RM", "2 min, total of 9 sets", reps, 71.1, 65.2, -8, inOrder(rm(10), 120, 3, arms...), total(0, 0), "senna-2009")
	t.add("bench press, fly, pushdown, 3 x 10RM", "5 min", reps, 83.7, 76.6, -8, inOrder(rm(10), 300, 3, arms...), total(0, 0), "senna-2009")

	pulls := []string{"pulldown", "row", "curl"}
	t.add("six pulls, 3 x 8RM", "1 min, total of 18 sets", reps, 78.9, 77.8, -1, doubled(rm(8), 60, 3, pulls...), total(0, 0), "miranda-2007")
	t.add("six pulls, 3 x 8RM", "3 min", reps, 107.2, 106.5, -1, doubled(rm(8), 180, 3, pulls...), total(0, 0), "miranda-2007")
	return t
}

// sperettaSets is the protocol of speretta-2012: five sets at rising loads.
func sperettaSets(rest float64) []protocol {
	var p protocol
	for _, load := range []float64{0.70, 0.75, 0.75, 0.80, 0.85} {
		p = append(p, bout{exercise: "bench press", load: load, k: sperettaK, sets: 1, rest: rest})
	}
	return []protocol{p}
}

func unfittedRestTrials() []trial {
	var t trials
	for _, r := range []struct {
		condition, direction string
		rest, printed        float64
		set                  int
	}{
		{"2 min, set 3", "sets 3-5: -8 to -29 %", 120, 8.0, 2},
		{"2 min, set 4", "same", 120, 7.1, 3},
		{"2 min, set 5", "same", 120, 6.6, 4},
		{"3 min, set 4", "sets 4-5: about -21 %", 180, 8.2, 3},
		{"3 min, set 5", "same", 180, 7.9, 4},
		{"5 min, set 5", "only set 5 lower", 300, 9.5, 4},
		{"1 min, set 5", "-15 to -55 %", 60, 4.8, 4},
		{"30 s, set 5", "-15 to -55 %", 30, 3.5, 4},
	} {
		t.direction("bench press 75 % x 10, five sets", r.condition, "repetitions done", r.direction, r.printed,
			counted(0.75, r.rest, 5, 10, "bench press"), doneOf(r.set), "", "ratamess-2007")
	}

	hold := func(rest float64) []protocol { return straight("leg extension", 0.66, reportK, rest, 2) }
	const holdNote = "a hold, run as repetitions of 3 s; regained = (C - p)/(1 - p), our reading: it gives the trial's figures"
	t = append(t, trial{study: "hold at 66 %, endurance regained", condition: "after 72 s", unit: "%",
		published: known(50), printed: known(57), protocols: hold(72), measure: regained(1, 0.66),
		status: seen, note: holdNote, source: "sahlin-1989"})
	t.direction("hold at 66 %, endurance regained", "after 4 min", "%", "still low", 77, hold(240), regained(1, 0.66), holdNote, "sahlin-1989")
	const forceNote = "fails: the model is no model of maximal force"
	t.direction("hold at 66 %, maximal force", "loss regained after 15 s", "%", "half or more", 18, hold(15), regained(1, 0.66), forceNote, "sahlin-1989")
	t.direction("hold at 66 %, maximal force", "capacity after 2 min", "% of fresh", "full", 89, hold(120), capacityOf(1), forceNote, "sahlin-1989")

	for _, r := range []struct {
		condition                string
		rest, published, printed float64
	}{{"1 min, total", 60, 17.1, 19.5}, {"2 min", 120, 21.6, 22.7}, {"5 min", 300, 25.7, 26.7}} {
		t = append(t, trial{study: "bench press, 4 x 8RM", condition: r.condition, unit: "repetitions",
			published: known(r.published), printed: known(r.printed),
			protocols: straight("bench press", rm(8), reportK, r.rest, 4), measure: total(0, 0),
			status: secondHand, source: "willardson-2005"})
	}
	const fall = "same fall at 80 and 50 %"
	t.direction("bench press, 5 sets, 2 min", "80 %, set 5", "% of set 1", fall, 49, straight("bench press", 0.8, reportK, 120, 5), percentOfSet(4, 0), "", "willardson-2006")
	t.direction("bench press, 5 sets, 2 min", "50 %, set 5", "% of set 1", fall, 55, straight("bench press", 0.5, reportK, 120, 5), percentOfSet(4, 0), "", "willardson-2006")
	return t
}

func orderTrials() []trial {
	var t trials
	const five, total5 = "bench press and fly, 5 x 10RM, 2 min", "repetitions"
	benchFirst := inOrder(rm(10), 120, 5, "bench press", "fly")
	flyFirst := inOrder(rm(10), 120, 5, "fly", "bench press")
	t.add(five, "bench first, total of 5 sets", total5, 34.4, 33.7, -2, benchFirst, total(0, 5), "senna-2019")
	t.add(five, "bench after fly", total5, 25.9, 30.8, 19, flyFirst, total(5, 10), "senna-2019")
	t.add(five, "fly first", total5, 33.5, 33.7, 0, flyFirst, total(0, 5), "senna-2019")
	t.add(five, "fly after bench", total5, 27.9, 29.3, 5, benchFirst, total(5, 10), "senna-2019")

	const pair, mean4 = "leg press and extension, 4 rounds of 8RM, 20 s", "repetitions a set"
	pressFirst := paired(rm(8), 20, 120, 4, "leg press", "leg extension")
	extensionFirst := paired(rm(8), 20, 120, 4, "leg extension", "leg press")
	t.add(pair, "press first, mean of 4", mean4, 6.08, 5.68, -7, pressFirst, meanSet(0, 2, 0), "salles-2008")
	t.add(pair, "press after extension", mean4, 5.04, 5.12, 2, extensionFirst, meanSet(1, 2, 0), "salles-2008")
	t.add(pair, "extension first", mean4, 6.69, 5.13, -23, extensionFirst, meanSet(0, 2, 0), "salles-2008")
	t.add(pair, "extension after press", mean4, 3.57, 3.74, 5, pressFirst, meanSet(1, 2, 0), "salles-2008")
	return t
}

func unfittedOrderTrials() []trial {
	// The appendix gives neither the pause nor the basis of this row. With 5 s,
	// and in percent of the nominal ten, the model gives 83.8 and thus the
	// trial's 84; in percent of the model's own fresh set it gives 82. The trial's
	// printed error of 0 is not reached: -1.
	t := trials{{study: "leg press straight after extension, 10RM", condition: "kept", unit: "% of 10",
		published: known(85), printed: known(84), printedError: known(0),
		protocols: paired(rm(10), straightAfter, 0, 1, "leg extension", "leg press"), measure: percentOf(1, 10),
		status: seen, note: "pause of 5 s and nominal ten are our reading, not in the appendix", source: "augustsson-2003"}}
	const pauseNote = "pause of 5 s is our reading: it gives the trial's figures"
	t.direction("fly and bench press, 10RM, straight after", "bench after fly", "repetitions", "fewer", 7.6,
		paired(rm(10), straightAfter, 0, 1, "fly", "bench press"), setOf(1), pauseNote, "gentil-2007")
	t.direction("fly and bench press, 10RM, straight after", "fly after bench", "repetitions", "fewer", 6.2,
		paired(rm(10), straightAfter, 0, 1, "bench press", "fly"), setOf(1), pauseNote, "gentil-2007")

	there := inOrder(rm(10), 120, 3, "bench press", "pulldown", "shoulder press", "curl", "pushdown")
	back := inOrder(rm(10), 120, 3, "pushdown", "curl", "shoulder press", "pulldown", "bench press")
	const fivefold, mean3, last = "five upper-body exercises, 3 x 10RM, 2 min", "repetitions a set", "fewer when last"
	t.direction(fivefold, "bench first", mean3, last, 7.8, there, meanSet(0, 1, 3), "", "simao-2005")
	t.direction(fivefold, "bench last", mean3, last, 7.4, back, meanSet(12, 1, 15), "", "simao-2005")
	t.direction(fivefold, "pushdown first", mean3, last, 7.8, back, meanSet(0, 1, 3), "", "simao-2005")
	t.direction(fivefold, "pushdown last", mean3, last, 7.3, there, meanSet(12, 1, 15), "", "simao-2005")
	t.direction(fivefold, "curl second", mean3, last, 7.8, back, meanSet(3, 1, 6), "", "simao-2005")
	t.direction(fivefold, "curl fourth", mean3, last, 7.4, there, meanSet(9, 1, 12), "", "simao-2005")

	const threefold, triple = "three upper-body exercises, women, 3 x 10RM, 3 min", "the three exercises are from memory"
	press := inOrder(rm(10), 180, 3, "bench press", "shoulder press", "pushdown")
	reverse := inOrder(rm(10), 180, 3, "pushdown", "shoulder press", "bench press")
	t.direction(threefold, "bench first", mean3, last, 8.2, press, meanSet(0, 1, 3), triple, "monteiro-2005")
	t.direction(threefold, "bench last", mean3, last, 7.5, reverse, meanSet(6, 1, 9), triple, "monteiro-2005")
	t.direction(threefold, "pushdown first", mean3, last, 8.2, reverse, meanSet(0, 1, 3), triple, "monteiro-2005")
	t.direction(threefold, "pushdown last", mean3, last, 7.2, press, meanSet(6, 1, 9), triple, "monteiro-2005")

	const eights, kept = "4 x 8 at 8RM, 2 min, either order", "% of the order where it is first"
	benchOrders := append(counted(rm(8), 120, 4, 8, "pushdown", "shoulder press", "bench press"),
		counted(rm(8), 120, 4, 8, "bench press", "shoulder press", "pushdown")...)
	squatOrders := append(counted(rm(8), 120, 4, 8, "leg curl", "leg extension", "squat"),
		counted(rm(8), 120, 4, 8, "squat", "leg extension", "leg curl")...)
	const eightsNote = "size probably too small"
	t.direction(eights, "bench last", kept, "substantially fewer", 89, benchOrders, totalPercent(8, 12, 0, 4), eightsNote, "sforzo-1996")
	t.direction(eights, "squat last", kept, "fewer", 95, squatOrders, totalPercent(8, 12, 0, 4), eightsNote, "sforzo-1996")
	return t
}
