package sheet

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// A tableColumn is a column of the table of a block, by key, with its heads.
type tableColumn struct {
	key, en, de string
	width       float64 // of the tab's column, characters
}

// The table of a block: a row a slot, the weeks side by side in the shorthand.
// It is the CSV export and a tab of the workbook, and it is where the truth of an
// exported table lies: `corbel import` reads it back into a block whose every
// week holds the same exercises, doses, rests, tempos, supersets, sides and notes.
// Numbers and loads are there to be read by people and are not read back; reasons
// come back as private notes, and a name that was changed renames the exercise.
var tableColumns = []tableColumn{
	{"session_name", "session", "Einheit", 18}, {"order", "order", "Nr.", 6}, {"name", "name", "Name", 26}, {"side", "side", "Seite", 8},
	{weekColumns, "", "", 0},
	{"rest", "rest", "Pause", 8}, {"tempo", "tempo", "Tempo", 22}, {"measure", "write down", "aufschreiben", 22}, {"range", "range", "Bereich", 14},
	{"note", "note", "Notiz", 30}, {"why", "why", "warum", 40}, {"link", "link", "Link", 24},
	{"day", "day", "Tag", 10}, {"place", "place", "Ort", 10}, {"time", "time", "Uhrzeit", 8}, {"session_note", "session note", "Notiz zur Einheit", 24},
	{"superset", "superset", "Supersatz", 9}, {"exercise", "exercise", "Übung", 24}, {"slot", "slot", "Eintrag", 8}, {"session_id", "session id", "Einheit-Kennung", 10},
	{"block", "block", "Block", 12}, {"block_name", "block name", "Blockname", 20}, {"start", "start", "Beginn", 12}, {"revision", "revision", "Fassung", 9},
}

// weekColumns stands for two columns a week: dose and loads.
const weekColumns = "weeks"

// leftOut stands in a week's cell before the written dose of a slot that a change
// leaves out; an exercise and a colon stand there where a change swaps it.
const leftOut = "out"

// keysOnly is the language of the CSV export's head: the keys, for programs.
const keysOnly = form.Language("")

// columnTitle is the head of a column in a language.
func columnTitle(key, en, de string, l form.Language) string {
	if l == keysOnly {
		return key
	}
	return form.Text{En: en, De: de}.In(l)
}

// tableHead is the head of the table of a block of n weeks.
func tableHead(weeks []int, l form.Language) []string {
	var out []string
	for _, c := range tableColumns {
		if c.key != weekColumns {
			out = append(out, columnTitle(c.key, c.en, c.de, l))
			continue
		}
		for _, w := range weeks {
			n := strconv.Itoa(w)
			out = append(out, columnTitle("week_"+n, "week "+n, "Woche "+n, l), columnTitle("loads_"+n, "loads "+n, "Lasten "+n, l))
		}
	}
	return out
}

// blockTable writes the table of a block, its head first. Texts are not guarded.
func blockTable(c *Content, b *plan.Block, l form.Language) [][]string {
	rows := [][]string{tableHead(c.Weeks, l)}
	laid := map[int][]plan.Laid{}
	for _, w := range c.Weeks {
		laid[w] = b.Lay(w)
	}
	for i := range c.Sessions {
		for j := range c.Sessions[i].Rows {
			rows = append(rows, tableRow(c, b, laid, i, j, l))
		}
	}
	return rows
}

// tableRow writes one slot.
func tableRow(c *Content, b *plan.Block, laid map[int][]plan.Laid, i, j int, l form.Language) []string {
	s, slot, row := &b.Sessions[i], &b.Sessions[i].Slots[j], &c.Sessions[i].Rows[j]
	weeks := slotWeeks(b, s, slot, c.Weeks, laid)
	shared := sharedClauses(weeks)
	text := map[string]string{
		"session_name": s.Name, "order": row.Label, "name": row.Name, "side": string(slot.Side), "note": slot.Note, "link": slot.Link,
		"rest": restCell(shared.Rest), "tempo": "", "measure": measureText(shared.Measure), "why": strings.Join(row.Reasons, " "),
		"day": string(s.Day), "place": string(s.Place), "time": s.At.String(), "session_note": s.Note, "superset": slot.Superset,
		"exercise": slot.Exercise, "slot": string(slot.ID), "session_id": string(s.ID),
		"block": string(b.ID), "block_name": b.Name, "start": b.Start.String(), "revision": strconv.Itoa(b.Revision),
	}
	if !shared.Tempo.IsZero() {
		text["tempo"] = shared.Tempo.String()
	}
	if slot.Range != nil {
		text["range"] = slot.Range.String()
	}
	if l != keysOnly {
		text["day"], text["side"] = s.Day.In(l), slot.Side.In(l)
	}
	var out []string
	for _, col := range tableColumns {
		if col.key != weekColumns {
			out = append(out, text[col.key])
			continue
		}
		for k := range weeks {
			out = append(out, weeks[k].text(shared), loadsText(row.Weeks[k]))
		}
	}
	return out
}

// A slotWeek is what a slot asks for in one week.
type slotWeek struct {
	dose plan.Dose
	swap string // exercise of this week where it is swapped
	out  bool
}

// slotWeeks lists a slot's weeks as they hold after the changes.
func slotWeeks(b *plan.Block, s *plan.Session, slot *plan.Slot, weeks []int, laid map[int][]plan.Laid) []slotWeek {
	var out []slotWeek
	for _, w := range weeks {
		x := slotWeek{dose: b.DoseIn(slot, w), out: true}
		for _, visit := range laid[w] {
			for _, held := range visit.Slots {
				if visit.Session.ID != s.ID || held.Slot.ID != slot.ID {
					continue
				}
				x.dose, x.out = held.Dose, false
				if held.Slot.Exercise != slot.Exercise {
					x.swap = held.Slot.Exercise
				}
			}
		}
		out = append(out, x)
	}
	return out
}

// sharedClauses returns rest, tempo and measure where all weeks have the same:
// they stand once in the row, else in the cell of each week.
func sharedClauses(weeks []slotWeek) plan.Dose {
	shared := plan.Dose{Rest: weeks[0].dose.Rest, Tempo: weeks[0].dose.Tempo, Measure: weeks[0].dose.Measure}
	for _, w := range weeks[1:] {
		if !w.dose.Rest.Equal(shared.Rest) || w.dose.Rest.IsZero() != shared.Rest.IsZero() {
			shared.Rest = plan.Dose{}.Rest
		}
		if w.dose.Tempo.String() != shared.Tempo.String() {
			shared.Tempo = plan.Tempo{}
		}
		if measureText(w.dose.Measure) != measureText(shared.Measure) {
			shared.Measure = nil
		}
	}
	return shared
}

// text writes a week's cell: the dose in the shorthand without what the row says.
func (w slotWeek) text(shared plan.Dose) string {
	d := w.dose
	d.Text = ""
	if !shared.Rest.IsZero() {
		d.Rest = plan.Dose{}.Rest
	}
	if !shared.Tempo.IsZero() {
		d.Tempo = plan.Tempo{}
	}
	if len(shared.Measure) > 0 {
		d.Measure = nil
	}
	switch {
	case w.out:
		return leftOut + ": " + d.Canonical()
	case w.swap != "":
		return w.swap + ": " + d.Canonical()
	}
	return d.Canonical()
}

// restCell writes a rest with its unit: a spreadsheet takes 3:00 for a time of day.
func restCell(d unit.Duration) string {
	switch s := float64(d.Second()); {
	case d.IsZero():
		return ""
	case s >= 60 && math.Mod(s, 60) == 0:
		return unit.Figures(s/60, 0) + " min"
	default:
		return unit.Figures(s, 3) + " s"
	}
}

// measureText writes what is to be written down in the shorthand.
func measureText(list []plan.Measure) string {
	return strings.TrimPrefix(plan.Dose{Measure: list}.Canonical(), "measure ")
}

// loadsText writes the loads of a week as the place has them.
func loadsText(c Cell) string {
	var out []string
	for _, d := range c.Doses {
		text := d.Load
		if (d.Side == "left" || d.Side == "right") && text != "" {
			text = d.Side + " " + text
		}
		if text != "" {
			out = append(out, text)
		}
	}
	return strings.Join(out, "; ")
}

// weekHead finds the head of a week's dose or loads.
var weekHead = regexp.MustCompile(`^(week|woche|loads|lasten)[ _](\d{1,2})$`)

// A tableLayout says which column of a table of ours holds what.
type tableLayout struct {
	row   int            // of the head
	at    map[string]int // column by key
	weeks map[int]int    // column of a week's dose
	known map[int]bool   // columns that are ours
}

// findTable finds the head of a table that was exported: it names slots,
// exercises and weeks. Columns may have been moved, added or taken out.
func findTable(rows [][]string) (tableLayout, bool) {
	for i := range rows[:min(len(rows), 20)] {
		l := tableLayout{row: i, at: map[string]int{}, weeks: map[int]int{}, known: map[int]bool{}}
		for j, cell := range rows[i] {
			text := strings.ToLower(strings.TrimSpace(Unguard(cell)))
			if m := weekHead.FindStringSubmatch(text); m != nil {
				l.known[j] = true
				if n, _ := strconv.Atoi(m[2]); m[1] == "week" || m[1] == "woche" {
					l.weeks[n] = j
				}
				continue
			}
			for _, c := range tableColumns {
				if _, twice := l.at[c.key]; !twice && c.key != weekColumns && (text == c.key || text == strings.ToLower(c.en) || text == strings.ToLower(c.de)) {
					l.at[c.key], l.known[j] = j, true
					break
				}
			}
		}
		_, slot := l.at["slot"]
		_, exercise := l.at["exercise"]
		if _, week := l.weeks[1]; slot && exercise && week {
			return l, true
		}
	}
	return tableLayout{}, false
}
