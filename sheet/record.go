package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"corbel/anatomy"
	"corbel/form"
	"corbel/plan"
)

// Unread is a cell of a workbook that could not be read.
type Unread struct {
	Tab, Cell string // cell such as G7
	Text      string // what stands there
	Why       string // what is wrong, and a guess where there is one
}

// String writes the place and the reason.
func (u Unread) String() string { return fmt.Sprintf("%s!%s: %q: %s", u.Tab, u.Cell, u.Text, u.Why) }

// ReadRecord reads results typed into a workbook of ours and returns what is new
// against the log, as entries to add: the same workbook twice adds nothing. on
// gives the day of a session from its block; without it the workbook's own days
// hold. A log without a client gets the workbook's; results of another client
// are refused. Cells that cannot be read are listed; they are not guessed.
func ReadRecord(name string, data []byte, log *plan.Log, on func(block, session form.ID, week int) form.Date) ([]plan.Entry, []Unread, error) {
	f, err := openBook(name, data)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	known := map[plan.LogKey]bool{}
	for i := range log.Entries {
		for j := range log.Entries[i].Sets {
			known[log.Entries[i].Key(&log.Entries[i].Sets[j])] = true
		}
	}
	r := &recorder{log: log, known: known, on: on, unread: withoutValue(data)}
	ours := false
	for _, tab := range f.GetSheetList() {
		rows, err := rowsOf(f, tab)
		if err != nil {
			return nil, nil, fmt.Errorf("%s, tab %s: %w", name, tab, err)
		}
		if len(rows) > 0 && len(rows[0]) > 0 && rows[0][0] == bookMark {
			ours = true
			if err := r.tab(tab, rows); err != nil {
				return nil, nil, fmt.Errorf("%s, tab %s: %w", name, tab, err)
			}
		}
	}
	if !ours {
		return nil, nil, fmt.Errorf("%s: this workbook was not exported by Corbel: no tab starts with %q", name, bookMark)
	}
	return r.entries, r.unread, nil
}

// recorder gathers entries from a workbook.
type recorder struct {
	log     *plan.Log
	known   map[plan.LogKey]bool
	on      func(block, session form.ID, week int) form.Date
	first   form.Date // of the session under way, where on is nil
	entries []plan.Entry
	unread  []Unread
}

// tab reads one session's tab.
func (r *recorder) tab(tab string, rows [][]string) error {
	cell := func(row, column int) string {
		if row <= len(rows) && column <= len(rows[row-1]) {
			return strings.TrimSpace(Unguard(rows[row-1][column-1]))
		}
		return ""
	}
	var block, session form.ID
	revision, err := strconv.Atoi(cell(2, 4))
	if err != nil || block.UnmarshalText([]byte(cell(2, 2))) != nil || session.UnmarshalText([]byte(cell(2, 6))) != nil {
		return fmt.Errorf("row 2 does not name block, revision and session any more; export the workbook again")
	}
	if err := r.client(cell(2, 8)); err != nil {
		return err
	}
	if r.on == nil {
		if r.first, err = form.ParseDate(cell(2, 10)); err != nil {
			return fmt.Errorf("row 2 does not name the first day of the session; say which block it is of with --block FILE")
		}
	}
	for row := bookFirstRow; row <= len(rows); row++ {
		r.row(tab, row, block, session, revision, func(column int) string { return cell(row, column) })
	}
	return nil
}

// client holds that results are of the log's client.
func (r *recorder) client(id string) error {
	var of form.ID
	switch {
	case id == "" && r.log.Client == "":
		return fmt.Errorf("row 2 does not name the client; say which block it is of with --block FILE")
	case id == "" || id == string(r.log.Client):
		return nil
	case r.log.Client != "":
		return fmt.Errorf("these results are of the client %s, and the log is of %s; name the right log", id, r.log.Client)
	}
	if err := of.UnmarshalText([]byte(id)); err != nil {
		return err
	}
	r.log.Client = of
	return nil
}

// day returns the day of a session in a week.
func (r *recorder) day(block, session form.ID, week int) form.Date {
	if r.on == nil {
		return r.first.Plus(7 * (week - 1))
	}
	return r.on(block, session, week)
}

// row reads one set.
func (r *recorder) row(tab string, row int, block, session form.ID, revision int, cell func(int) string) {
	load, reps, reserve, note := cell(7), cell(8), cell(9), cell(10)
	if load == "" && reps == "" && reserve == "" && note == "" {
		return
	}
	fail := func(column int, why string) {
		name, _ := excelize.CoordinatesToCellName(column, row)
		r.unread = append(r.unread, Unread{tab, name, cell(column), why})
	}
	var slot form.ID
	week, err1 := strconv.Atoi(cell(2))
	set, err2 := strconv.Atoi(cell(3))
	if err := slot.UnmarshalText([]byte(cell(1))); err != nil || err1 != nil || err2 != nil || week < 1 || week > 12 || set < 1 {
		fail(1, "this row does not name slot, week and set; it is not a row of the exported workbook")
		return
	}
	side, ok := sideNamed(cell(4))
	if !ok || side == anatomy.Both {
		fail(4, "write left, right or nothing")
		return
	}
	done, column, err := doneOf(load, reps, reserve, cell(6))
	if err != nil {
		fail(column, err.Error())
		return
	}
	e := r.entry(block, session, revision, week)
	line := plan.SetLog{Slot: slot, Set: set, Side: side, Done: done, Note: note}
	if key := e.Key(&line); !r.known[key] {
		r.known[key] = true
		e.Sets = append(e.Sets, line)
	}
	r.entries = slices.DeleteFunc(r.entries, func(x plan.Entry) bool { return len(x.Sets) == 0 })
}

// entry returns the entry of a session in a week, made if need be.
func (r *recorder) entry(block, session form.ID, revision, week int) *plan.Entry {
	for i := range r.entries {
		e := &r.entries[i]
		if e.Block == block && e.Session == session && e.Week == week {
			return e
		}
	}
	r.entries = append(r.entries, plan.Entry{Block: block, Session: session, Revision: revision, Week: week, On: r.day(block, session, week), Source: "workbook"})
	return &r.entries[len(r.entries)-1]
}

// doneOf puts typed cells together as a line of the log. A load without a unit
// takes the unit of the written load. The column tells where an error lies.
func doneOf(load, reps, reserve, written string) (plan.Done, int, error) {
	load = strings.ReplaceAll(load, ",", ".")
	if _, err := strconv.ParseFloat(load, 64); err == nil {
		unit := " kg"
		if strings.Contains(written, " lb") {
			unit = " lb"
		}
		load += unit
	}
	text := load
	if reps != "" {
		if _, err := plan.ParseDone(reps); err != nil {
			return plan.Done{}, 8, fmt.Errorf("write the repetitions that were done, such as 8, or 30 s, or 40 m")
		}
		if text != "" {
			text += " x "
		}
		text += reps
	}
	if load != "" {
		if _, err := plan.ParseDone(load); err != nil {
			return plan.Done{}, 7, fmt.Errorf("write the load that was used, such as 80 kg, band middle or pin 7 (%v)", err)
		}
	}
	if reserve != "" {
		number := strings.ReplaceAll(reserve, ",", ".")
		if x, err := strconv.ParseFloat(number, 64); err != nil || x < 0 || x > 20 {
			return plan.Done{}, 9, fmt.Errorf("write how many repetitions were left, 0 to 20")
		}
		if text == "" {
			return plan.Done{}, 8, fmt.Errorf("a reserve stands here without repetitions; write what was done")
		}
		text += " rir " + number
	}
	if text == "" {
		return plan.Done{}, 10, fmt.Errorf("a note stands here without a result; write it into the log by hand")
	}
	d, err := plan.ParseDone(text)
	if err != nil {
		return plan.Done{}, 7, err
	}
	return d, 0, nil
}
