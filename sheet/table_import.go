package sheet

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// ourTable reads a table we exported. It says false where the table is none of
// ours.
func (im *importer) ourTable(t table) bool {
	l, ok := findTable(t.rows)
	if !ok {
		return false
	}
	r := &tableReader{im: im, t: t, l: l, sessions: map[string]int{}}
	for i := l.row + 1; i < len(t.rows); i++ {
		r.i = i
		r.row()
	}
	r.sessionsLeftOut()
	return true
}

// A tableReader reads the rows of an exported table.
type tableReader struct {
	im       *importer
	t        table
	l        tableLayout
	i        int            // row under way
	sessions map[string]int // by id, or by name where the id is gone
	outs     []outCell
}

// An outCell is a week in which a slot is left out.
type outCell struct {
	session, slot int
	week          int
}

// get returns the text of a column, "" where there is none.
func (r *tableReader) get(key string) string {
	if j, ok := r.l.at[key]; ok {
		return r.cell(j)
	}
	return ""
}

func (r *tableReader) cell(j int) string {
	if j < len(r.t.rows[r.i]) {
		return Unguard(r.t.rows[r.i][j])
	}
	return ""
}

// unread reports a column of the row, and keeps its text in the slot's private
// note.
func (r *tableReader) unread(j int, slot *plan.Slot, why string) {
	at := fmt.Sprintf("%s%d", columnName(j), r.i+1)
	r.im.out.Unread = append(r.im.out.Unread, Unread{r.t.name, at, r.cell(j), why + "; kept in the private note"})
	r.im.note(&slot.Private, r.cell(j))
}

// row reads one slot.
func (r *tableReader) row() {
	if !slices.ContainsFunc(r.t.rows[r.i], func(s string) bool { return strings.TrimSpace(s) != "" }) {
		return
	}
	if len(r.im.out.Block.Sessions) == 0 {
		r.block()
	}
	b := r.im.out.Block
	r.im.out.Rows++
	id := r.exercise()
	if id == "" {
		for j, text := range r.t.rows[r.i] {
			if r.l.known[j] {
				r.im.note(&b.Private, strings.TrimSpace(text))
			}
		}
		return
	}
	r.im.out.Read++
	at := r.session()
	if at < 0 {
		return
	}
	s := &b.Sessions[at]
	if len(s.Slots) == maxPerVisit {
		r.im.out.Unread = append(r.im.out.Unread, Unread{r.t.name, fmt.Sprintf("A%d", r.i+1), id, fmt.Sprintf("a session holds at most %d exercises; split the table", maxPerVisit)})
		return
	}
	slot := plan.Slot{ID: r.idOf("slot", id), Exercise: id}
	r.clauses(&slot)
	s.Slots = append(s.Slots, slot)
	r.doses(at, len(s.Slots)-1)
	r.strangers(&s.Slots[len(s.Slots)-1])
}

// block reads what the first row says of the block.
func (r *tableReader) block() {
	b := r.im.out.Block
	if err := b.ID.UnmarshalText([]byte(r.get("block"))); err != nil {
		b.ID = "imported"
	}
	if name := r.get("block_name"); strings.TrimSpace(name) != "" {
		b.Name = name
	}
	if day, err := form.ParseDate(r.get("start")); err == nil && !r.im.started {
		b.Start = day
	}
	if n, err := strconv.Atoi(r.get("revision")); err == nil && n > 0 {
		b.Revision = n + 1
		r.im.guess(fmt.Sprintf("the table was exported from revision %d; the block goes on as revision %d", n, b.Revision))
	}
	for _, w := range slices.Sorted(maps.Keys(r.l.weeks)) {
		if w >= 1 && w <= maxImportWeeks {
			b.Weeks = max(b.Weeks, w)
		}
	}
	r.im.guess("of our own table the weeks in the shorthand are read, not the loads beside them; reasons become private notes")
}

// exercise finds the exercise of a row: the id, unless the name beside it was
// changed.
func (r *tableReader) exercise() string {
	id, name := strings.TrimSpace(r.get("exercise")), clean(r.get("name"))
	e := r.im.lib.Find(id)
	if e != nil && (name == "" || name == e.Name.En || name == e.Name.De) {
		return string(e.ID)
	}
	if name == "" {
		name = id
	}
	column := "name"
	if _, ok := r.l.at["name"]; !ok {
		column = "exercise"
	}
	at := fmt.Sprintf("%s%d", columnName(r.l.at[column]), r.i+1)
	found, _ := r.im.recognise(r.t, cellAt{text: name, at: at})
	if found != "" && e != nil && found != string(e.ID) {
		r.im.guess(fmt.Sprintf("%s!%s: the name %q was taken, not the exercise %s beside it", r.t.name, at, name, e.ID))
	}
	return found
}

// idOf returns the id a column holds, or a new one.
func (r *tableReader) idOf(key, from string) form.ID {
	var id form.ID
	if err := id.UnmarshalText([]byte(strings.TrimSpace(r.get(key)))); err == nil && !r.im.ids[id] {
		r.im.ids[id] = true
		return id
	}
	return r.im.id(from, "slot")
}

// session finds the session of a row, made if need be, or -1 where the block is
// full.
func (r *tableReader) session() int {
	b := r.im.out.Block
	key := r.get("session_id")
	if key == "" {
		key = r.get("session_name")
	}
	if i, ok := r.sessions[key]; ok {
		return i
	}
	if len(b.Sessions) == maxImported {
		r.im.out.Unread = append(r.im.out.Unread, Unread{r.t.name, fmt.Sprintf("A%d", r.i+1), key, fmt.Sprintf("a block holds at most %d sessions; split the table", maxImported)})
		return -1
	}
	s := plan.Session{Name: r.get("session_name"), Note: r.get("session_note"), Day: dayNamed(r.get("day"))}
	if s.Name == "" {
		s.Name = fmt.Sprintf("Session %d", len(b.Sessions)+1)
	}
	s.ID = r.idOf("session_id", s.Name)
	if s.Day == "" {
		days := client.Weekday("").Values()
		s.Day = client.Weekday(days[(2*len(b.Sessions))%len(days)])
		r.im.guess("days of sessions that the table does not name; set them in the block")
	}
	if err := s.Place.UnmarshalText([]byte(r.get("place"))); err != nil {
		s.Place = "gym"
		r.im.guess("places of sessions that the table does not name; set them in the block")
	}
	if text := strings.TrimSpace(r.get("time")); text != "" && s.At.UnmarshalText([]byte(text)) != nil {
		r.im.out.Unread = append(r.im.out.Unread, Unread{r.t.name, fmt.Sprintf("%s%d", columnName(r.l.at["time"]), r.i+1), text, "not a time of day; write such as 18:00"})
	}
	b.Sessions = append(b.Sessions, s)
	r.sessions[key] = len(b.Sessions) - 1
	return len(b.Sessions) - 1
}

// clauses reads what stands once in the row.
func (r *tableReader) clauses(slot *plan.Slot) {
	slot.Superset, slot.Note, slot.Link = strings.TrimSpace(r.get("superset")), r.get("note"), strings.TrimSpace(r.get("link"))
	try := func(key, wanted string, read func(text string) error) {
		if text := strings.TrimSpace(r.get(key)); text != "" {
			if err := read(text); err != nil {
				r.unread(r.l.at[key], slot, wanted)
			}
		}
	}
	try("side", "write left or right", func(s string) error {
		side, ok := sideNamed(s)
		if !ok {
			return fmt.Errorf("no side")
		}
		slot.Side = side
		return nil
	})
	try("rest", "not a rest; write such as 90 s or 2:00", func(s string) error {
		d, err := unit.ParseDuration(r.im.clockTime(s))
		slot.Rest = d
		return err
	})
	try("tempo", "not a tempo; write such as 3-1-2", func(s string) error {
		_, err := plan.ParseTempo(s)
		if err == nil {
			slot.Tempo = s
		}
		return err
	})
	try("measure", "not something to write down; write such as reserve both sides", func(s string) error {
		_, err := plan.ParseMeasure(s)
		if err == nil {
			slot.Measure = s
		}
		return err
	})
	try("range", "not a range; write such as knee 0-60 deg", func(s string) error {
		var x client.Range
		err := x.UnmarshalText([]byte(s))
		if err == nil {
			slot.Range = &x
		}
		return err
	})
	if why := r.get("why"); why != "" {
		r.im.note(&slot.Private, why)
	}
}

// strangers keeps the texts of columns that are not ours.
func (r *tableReader) strangers(slot *plan.Slot) {
	for j, text := range r.t.rows[r.i] {
		if !r.l.known[j] && strings.TrimSpace(text) != "" {
			r.unread(j, slot, "this column is none of the table's")
		}
	}
}

// doses reads the weeks of a row.
func (r *tableReader) doses(session, at int) {
	b := r.im.out.Block
	slot := &b.Sessions[session].Slots[at]
	written := map[int]plan.Dose{}
	for w := 1; w <= b.Weeks; w++ {
		j, ok := r.l.weeks[w]
		text := ""
		if ok {
			text = strings.TrimSpace(r.cell(j))
		}
		if text == "" || text == "-" || text == "–" {
			r.outs = append(r.outs, outCell{session, at, w})
			continue
		}
		r.week(w, j, text, session, at, written)
	}
	first, ok := firstOf(written)
	if !ok {
		first, _ = plan.ParseDose(noDose)
		at := fmt.Sprintf("%s%d", columnName(r.l.weeks[1]), r.i+1)
		r.im.out.Unread = append(r.im.out.Unread, Unread{r.t.name, at, r.cell(r.l.weeks[1]), "no week holds a dose; " + noDose + " stands in its place"})
	}
	slot.Dose = first
	last := first
	for w := 2; w <= b.Weeks; w++ {
		if d, ok := written[w]; ok && !d.Equal(last) {
			if slot.Weeks == nil {
				slot.Weeks = map[int]plan.Dose{}
			}
			slot.Weeks[w], last = d, d
		}
	}
}

// noDose stands where no dose could be read.
const noDose = "1 x max rir 3"

// firstOf returns the dose of the first week that has one.
func firstOf(written map[int]plan.Dose) (plan.Dose, bool) {
	for _, w := range slices.Sorted(maps.Keys(written)) {
		return written[w], true
	}
	return plan.Dose{}, false
}

// week reads one week's cell: a dose, one that is left out, or one of another
// exercise.
func (r *tableReader) week(w, j int, text string, session, at int, written map[int]plan.Dose) {
	b := r.im.out.Block
	slot := &b.Sessions[session].Slots[at]
	before, dose, swapped := strings.Cut(text, ": ")
	other := r.im.lib.Find(before)
	isOut := swapped && before == leftOut
	if !isOut && (!swapped || other == nil) {
		dose = text
	}
	d, err := plan.ParseDose(dose)
	if err != nil {
		r.unread(j, slot, err.Error())
		return
	}
	switch {
	case isOut:
		r.outs = append(r.outs, outCell{session, at, w})
		written[w] = d
	case swapped && other != nil:
		day := b.Date(&b.Sessions[session], w)
		b.Changes = append(b.Changes, plan.Change{ID: r.im.id("swap-"+string(slot.ID), "swap"), On: day, Until: day, By: "table", Why: fmt.Sprintf("another exercise in week %d", w),
			Scope: "slot", Slot: slot.ID, Do: "swap", Exercise: string(other.ID), Dose: d})
		if w == 1 {
			written[w] = d // the slot needs a dose; the change holds it for this week
		}
	default:
		written[w] = d
	}
}

// sessionsLeftOut lays the weeks left out over the block: a session where all of
// its slots are, else slot by slot.
func (r *tableReader) sessionsLeftOut() {
	b := r.im.out.Block
	count := map[[2]int]int{}
	for _, o := range r.outs {
		count[[2]int{o.session, o.week}]++
	}
	for _, o := range r.outs {
		s := &b.Sessions[o.session]
		day := b.Date(s, o.week)
		c := plan.Change{On: day, Until: day, By: "table", Why: fmt.Sprintf("left out in week %d", o.week), Scope: "slot", Slot: s.Slots[o.slot].ID, Do: "skip"}
		if count[[2]int{o.session, o.week}] == len(s.Slots) {
			if o.slot > 0 {
				continue // once a session
			}
			c.Scope, c.Slot, c.Session = "session", "", s.ID
		}
		c.ID = r.im.id("out-"+string(s.ID)+string(c.Slot), "out")
		b.Changes = append(b.Changes, c)
	}
}

// sideNamed returns the side a word of either language names.
func sideNamed(s string) (anatomy.Side, bool) {
	for _, side := range []anatomy.Side{anatomy.Left, anatomy.Right, anatomy.Both} {
		if s == string(side) || s == side.In(form.English) || s == side.In(form.German) {
			return side, true
		}
	}
	return anatomy.NoSide, s == ""
}
