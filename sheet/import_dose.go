package sheet

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"corbel/plan"
	"corbel/unit"
)

// exercise adds a row's exercise to its session, or the dose of another week to a
// slot that is there.
func (im *importer) exercise(t table, cells map[columnKind]map[int]cellAt, loose []string, week int, ex cellAt, name string) {
	im.out.Rows++
	s := im.current(name)
	id, rest := im.recognise(t, ex)
	loose = append(rest, loose...)
	doses := im.doses(t, cells, &loose)
	if id == "" {
		im.note(&s.Note, strings.Join(append(append([]string{ex.text}, textsOf(cells)...), loose...), " "))
		return
	}
	im.out.Read++
	if week > 1 {
		if at, ok := im.seen[string(s.ID)+" "+id]; ok && at < len(s.Slots) {
			im.laterWeek(&s.Slots[at], week, doses[1])
			return
		}
	}
	if len(s.Slots) == maxPerVisit {
		im.out.Unread = append(im.out.Unread, Unread{t.name, ex.at, ex.text, fmt.Sprintf("a session holds at most %d exercises; split the table", maxPerVisit)})
		return
	}
	first, ok := doses[1]
	if !ok {
		first, _ = plan.ParseDose("1 x max rir 3")
		im.out.Unread = append(im.out.Unread, Unread{t.name, ex.at, ex.text, "no sets and repetitions could be read for week 1; 1 x max rir 3 stands in their place"})
	}
	slot := plan.Slot{ID: im.id(id, "slot"), Exercise: id, Dose: first}
	im.rest(t, cells, &slot, &loose)
	im.tempo(t, cells, &slot, &loose)
	for _, w := range slices.Sorted(maps.Keys(cells[colNote])) {
		im.note(&slot.Note, cells[colNote][w].text)
	}
	for _, l := range loose {
		im.note(&slot.Note, l)
	}
	s.Slots = append(s.Slots, slot)
	im.seen[string(s.ID)+" "+id] = len(s.Slots) - 1
	for _, w := range slices.Sorted(maps.Keys(doses)) {
		if w > 1 {
			im.laterWeek(&s.Slots[len(s.Slots)-1], w, doses[w])
		}
	}
}

// textsOf lists the texts of a row's cells, exercise and session left out.
func textsOf(cells map[columnKind]map[int]cellAt) []string {
	var out []string
	for _, k := range slices.Sorted(maps.Keys(cells)) {
		if k == colExercise || k == colSession {
			continue
		}
		for _, w := range slices.Sorted(maps.Keys(cells[k])) {
			out = append(out, cells[k][w].text)
		}
	}
	return out
}

// maxImportWeeks bounds the weeks of an imported block (plan/read.go).
const maxImportWeeks = 12

// laterWeek writes out the dose of a later week.
func (im *importer) laterWeek(slot *plan.Slot, week int, d plan.Dose) {
	if d.IsZero() || week < 2 || week > maxImportWeeks {
		return
	}
	if slot.Weeks == nil {
		slot.Weeks = map[int]plan.Dose{}
	}
	slot.Weeks[week] = d
	im.out.Block.Weeks = max(im.out.Block.Weeks, week)
}

// doses reads the doses of a row by week. Texts that cannot be read are listed
// and kept.
func (im *importer) doses(t table, cells map[columnKind]map[int]cellAt, loose *[]string) map[int]plan.Dose {
	out := map[int]plan.Dose{}
	for w := 1; w <= maxImportWeeks; w++ {
		text, at := im.doseText(cells, w)
		if text == "" {
			continue
		}
		d, err := plan.ParseDose(text)
		if load, ok := cells[colLoad][w]; ok && err != nil {
			// the sets may be read where the load cannot
			rest := cells[colLoad]
			delete(rest, w)
			bare, _ := im.doseText(cells, w)
			rest[w] = load
			if bareDose, bareErr := plan.ParseDose(bare); bareErr == nil {
				im.out.Unread = append(im.out.Unread, Unread{t.name, load.at, load.text, "not a load; write such as 60 kg, 72% or band light; kept in the note"})
				*loose = append(*loose, load.text)
				out[w] = bareDose
				continue
			}
		}
		if err != nil {
			im.out.Unread = append(im.out.Unread, Unread{t.name, at, text, err.Error() + "; kept in the note"})
			*loose = append(*loose, text)
			continue
		}
		out[w] = d
	}
	return out
}

// doseText puts the cells of a week together as shorthand. Cells of week 1 hold
// for later weeks where those leave them out, if any of the later week is there.
func (im *importer) doseText(cells map[columnKind]map[int]cellAt, w int) (text, at string) {
	if len(cells[colOneSet]) > 0 {
		if w > 1 {
			return "", ""
		}
		text, at = im.setBySet(cells[colOneSet])
		return text + im.effortText(cells, w), at
	}
	if c, ok := cells[colDose][w]; ok {
		text = normalise(c.text)
		if load, ok := cells[colLoad][w]; ok && !strings.Contains(text, "@") {
			text += " @ " + im.loadText(load)
		}
		return text + im.effortText(cells, w), c.at
	}
	get := func(k columnKind) (cellAt, bool) {
		c, ok := cells[k][w]
		if !ok && w > 1 && (len(cells[colLoad]) > 1 || len(cells[colReps]) > 1 || len(cells[colSets]) > 1) {
			c, ok = cells[k][1]
		}
		return c, ok
	}
	if w > 1 && !any3(cells, w) {
		return "", ""
	}
	sets, ok1 := get(colSets)
	reps, ok2 := get(colReps)
	if !ok1 && !ok2 {
		return "", ""
	}
	count := firstNumber.FindString(sets.text)
	work := repsText(reps.text)
	switch {
	case ok2 && strings.ContainsAny(work, "x×") && firstNumber.MatchString(work):
		text = work // sets stand in the repetitions
	case ok2 && strings.Contains(work, ",") && count == "":
		text = work
	default:
		if count == "" {
			count = "1"
		}
		text = count + " x " + work
	}
	if load, ok := get(colLoad); ok {
		text += " @ " + im.loadText(load)
	}
	return text + im.effortText(cells, w), first(sets.at, reps.at)
}

// oneSetCell is a set in a cell of its own: 8, 8 @ 60 kg, 5 x 100.
var oneSetCell = regexp.MustCompile(`(?i)^(\d{1,3}(?:\s*-\s*\d{1,3})?|max)\s*(?:wdh\.?|reps?)?\s*(?:(?:@|x|×|mit|with|à)\s*(\d+(?:[.,]\d+)?)\s*(kg|lbs?|%)?)?$`)

// setBySet puts sets that stand in columns of their own together: 8,8,6 @
// 60,60,65 kg. What cannot be read is returned as it stands.
func (im *importer) setBySet(cells map[int]cellAt) (text, at string) {
	var reps, loads, all []string
	unit := ""
	good := true
	for _, n := range slices.Sorted(maps.Keys(cells)) {
		c := cells[n]
		at = first(at, c.at)
		all = append(all, c.text)
		m := oneSetCell.FindStringSubmatch(c.text)
		if m == nil {
			if good {
				at = c.at
			}
			good = false
			continue
		}
		reps = append(reps, strings.ReplaceAll(m[1], " ", ""))
		if m[2] != "" {
			loads = append(loads, strings.ReplaceAll(m[2], ",", "."))
			u := strings.TrimSuffix(strings.ToLower(m[3]), "s")
			good = good && (unit == "" || u == "" || u == unit)
			unit = first(unit, u)
		}
	}
	if !good || len(loads) > 0 && len(loads) < len(reps) {
		return strings.Join(all, ", "), at
	}
	text = strings.Join(reps, ",")
	if len(reps) == 1 {
		text = "1 x " + text
	}
	if len(loads) == 0 {
		return text, at
	}
	if unit == "" {
		unit = "kg"
		im.guess("loads without a unit were taken as kilograms")
	}
	if !slices.ContainsFunc(loads, func(s string) bool { return s != loads[0] }) {
		loads = loads[:1]
	}
	if unit != "%" {
		unit = " " + unit
	}
	return text + " @ " + strings.Join(loads, ",") + unit, at
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// any3 says whether a week has sets, repetitions or a load of its own.
func any3(cells map[columnKind]map[int]cellAt, w int) bool {
	for _, k := range []columnKind{colSets, colReps, colLoad} {
		if _, ok := cells[k][w]; ok {
			return true
		}
	}
	return false
}

var (
	pairOf       = regexp.MustCompile(`^2\s*[x×]\s*(\d+(?:\.\d+)?)$`)
	firstNumber  = regexp.MustCompile(`\d+`)
	decimalComma = regexp.MustCompile(`(\d),(\d{1,2})(\s*(?:kg|lb|lbs|%)|$)`)
	effortList   = regexp.MustCompile(`(?i)\br(?:ir|pe)\s+\d\S*,\d`)
	setsOf2      = regexp.MustCompile(`(?i)(\d+)\s*(?:sets?|sätze|satz)\s*(?:of|à|a|x|mit)?\s*`)
)

// normalise turns usual spellings of a dose into the shorthand; a dose
// with an effort for each set stays: its commas are no decimals.
func normalise(s string) string {
	if _, err := plan.ParseDose(s); err == nil && effortList.MatchString(s) {
		return s
	}
	s = setsOf2.ReplaceAllString(s, "$1 x ")
	s = regexp.MustCompile(`(?i)\b(?:wdh\.?|wiederholungen|whd\.?)`).ReplaceAllString(s, "")
	s = regexp.MustCompile(`(?i)\b(?:je|pro)\s+(?:seite|bein|arm)`).ReplaceAllString(s, "/side")
	s = regexp.MustCompile(`(?i)\b(?:bis zum muskelversagen|bis versagen|amap|amrap)\b`).ReplaceAllString(s, "max")
	s = regexp.MustCompile(`(?i)\bsek\.?`).ReplaceAllString(s, "s")
	return strings.TrimSpace(decimalComma.ReplaceAllString(s, "$1.$2$3"))
}

// repsText turns usual spellings of repetitions into the shorthand.
func repsText(s string) string {
	s = normalise(s)
	s = regexp.MustCompile(`(?i)\s*(?:to|bis)\s+`).ReplaceAllString(s, "-")
	if s == "" {
		return "max"
	}
	return s
}

// loadText turns usual spellings of a load into the shorthand. A bare number
// takes the unit of its head, else kilograms.
func (im *importer) loadText(c cellAt) string {
	s := normalise(strings.TrimPrefix(strings.ToLower(c.text), "@"))
	s = strings.TrimSpace(s)
	switch s {
	case "bw", "kg", "körpergewicht", "eigengewicht", "bodyweight", "kgw", "-", "–":
		return "body weight"
	}
	s = strings.ReplaceAll(strings.ReplaceAll(s, "je hand", "/hand"), "pro hand", "/hand")
	if m := pairOf.FindStringSubmatch(s); m != nil { // 2x12: one in each hand
		u := c.unit
		if u != "lb" {
			u = "kg"
			im.guess("loads without a unit were taken as kilograms")
		}
		return "2 x " + m[1] + " " + u
	}
	if x, err := strconv.ParseFloat(strings.TrimPrefix(s, "+"), 64); err == nil {
		u := c.unit
		switch {
		case u == "%":
			return unit.Figures(x, 1) + "%"
		case u == "":
			u = "kg"
			im.guess("loads without a unit were taken as kilograms")
		}
		return s + " " + u
	}
	return s
}

func (im *importer) guess(text string) {
	if !slices.Contains(im.out.Guesses, text) {
		im.out.Guesses = append(im.out.Guesses, text)
	}
}

// effortText reads the reserve or rating of a week.
func (im *importer) effortText(cells map[columnKind]map[int]cellAt, w int) string {
	for _, x := range []struct {
		kind columnKind
		word string
	}{{colReserve, "rir"}, {colRating, "rpe"}} {
		c, ok := cells[x.kind][w]
		if !ok {
			c, ok = cells[x.kind][1]
		}
		if number := effortNumber.FindString(c.text); ok && number != "" {
			return " " + x.word + " " + strings.ReplaceAll(number, ",", ".")
		}
	}
	return ""
}

// rest reads the rest of a row.
func (im *importer) rest(t table, cells map[columnKind]map[int]cellAt, slot *plan.Slot, loose *[]string) {
	c, ok := cells[colRest][1]
	if !ok || !slot.Dose.Rest.IsZero() {
		return
	}
	text := strings.ToLower(normalise(c.text))
	text = strings.NewReplacer("sek.", "s", "sek", "s", "secs", "s", "sec", "s", "mins", "min", "minuten", "min", "''", " s", `"`, " s", "'", " min").Replace(text)
	text = im.clockTime(text)
	if restRange.MatchString(text) {
		text = restFrom.ReplaceAllString(text, "")
		im.guess("of a range of rest the longer one was taken")
	}
	if x, err := strconv.ParseFloat(text, 64); err == nil {
		text += " s"
		if x < 10 {
			text = unit.Figures(x, 2) + " min"
		}
		im.guess("rests without a unit were taken as seconds from 10 on, as minutes below")
	}
	d, err := unit.ParseDuration(strings.TrimSpace(text))
	if err != nil {
		im.out.Unread = append(im.out.Unread, Unread{t.name, c.at, c.text, "not a rest; write such as 90 s or 2:00; kept in the note"})
		*loose = append(*loose, c.text)
		return
	}
	slot.Rest = unit.DurationOf(d.Second())
}

// timeOfDay finds a rest such as 3:00 that a spreadsheet took for a time of day:
// 03:00:00, 3:00 am, 3:00:00 AM.
var timeOfDay = regexp.MustCompile(`(?i)^(\d{1,2}):(\d\d)(?::(\d\d))?\s*([ap]\.?m\.?)?$`)

// clockTime turns a rest that a spreadsheet took for a time of day back into
// minutes and seconds: its hours were typed as minutes.
func (im *importer) clockTime(s string) string {
	m := timeOfDay.FindStringSubmatch(s)
	if m == nil || m[3] == "" && m[4] == "" {
		return s
	}
	im.guess("rests that the spreadsheet took for times of the day were read as minutes and seconds")
	hours, _ := strconv.Atoi(m[1])
	if half := strings.ToLower(m[4]); half != "" {
		hours %= 12
		if half[0] == 'p' {
			hours += 12
		}
	}
	if hours == 0 && m[3] != "" { // 00:03:00 is a time of three minutes
		return m[2] + ":" + m[3]
	}
	return fmt.Sprintf("%d:%s", hours, m[2])
}

// tempo reads the tempo of a row: three or four figures.
func (im *importer) tempo(t table, cells map[columnKind]map[int]cellAt, slot *plan.Slot, loose *[]string) {
	c, ok := cells[colTempo][1]
	if !ok || !slot.Dose.Tempo.IsZero() {
		return
	}
	text := strings.NewReplacer("/", "-", ".", "-", ":", "-", "–", "-").Replace(c.text)
	if tempoDigits.MatchString(text) {
		text = strings.Join(strings.Split(text, ""), "-")
	}
	if _, err := plan.ParseTempo(text); err != nil {
		im.out.Unread = append(im.out.Unread, Unread{t.name, c.at, c.text, "not a tempo of three or four figures; kept in the note"})
		*loose = append(*loose, c.text)
		return
	}
	slot.Tempo = text
}

// Spellings found in hand-made tables.
var (
	effortNumber = regexp.MustCompile(`\d+(?:[.,]5)?(?:\s*[-–]\s*\d+(?:[.,]5)?)?`)
	restRange    = regexp.MustCompile(`^\d+\s*[-–]\s*\d+`)
	restFrom     = regexp.MustCompile(`^\d+\s*[-–]\s*`)
	tempoDigits  = regexp.MustCompile(`^\d{3,4}$`)
)
