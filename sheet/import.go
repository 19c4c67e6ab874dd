package sheet

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// A columnKind is what a column of a hand-made table holds.
type columnKind int

const (
	colNone columnKind = iota
	colExercise
	colSession
	colWeek // week as a number in every row
	colSets
	colReps
	colLoad
	colDose // sets and repetitions in one cell: 3 x 8 @ 60 kg
	colReserve
	colRating
	colRest
	colTempo
	colNote
	colOneSet // one set in every column: Set 1, Set 2
)

// columnWords are the usual words of English and German over columns.
var columnWords = map[string]columnKind{
	"exercise": colExercise, "exercises": colExercise, "movement": colExercise, "lift": colExercise, "übung": colExercise, "übungen": colExercise, "uebung": colExercise,
	"session": colSession, "day": colSession, "workout": colSession, "training": colSession, "tag": colSession, "einheit": colSession, "trainingstag": colSession,
	"week": colWeek, "woche": colWeek, "wk": colWeek, "kw": colWeek,
	"set": colSets, "sets": colSets, "satz": colSets, "sätze": colSets, "saetze": colSets, "serien": colSets,
	"rep": colReps, "reps": colReps, "repetitions": colReps, "repetition": colReps, "wdh": colReps, "wiederholungen": colReps, "wiederholung": colReps, "whd": colReps,
	"load": colLoad, "weight": colLoad, "kg": colLoad, "lb": colLoad, "lbs": colLoad, "last": colLoad, "gewicht": colLoad, "intensity": colLoad, "intensität": colLoad, "1rm": colLoad,
	"dose": colDose, "scheme": colDose, "prescription": colDose, "dosis": colDose, "vorgabe": colDose, "umfang": colDose, "volume": colDose,
	"rir": colReserve, "reserve": colReserve, "rpe": colRating,
	"rest": colRest, "pause": colRest, "tempo": colTempo, "cadence": colTempo,
	"note": colNote, "notes": colNote, "comment": colNote, "comments": colNote, "cue": colNote, "cues": colNote, "notiz": colNote, "notizen": colNote, "bemerkung": colNote, "bemerkungen": colNote, "hinweis": colNote, "hinweise": colNote, "anmerkung": colNote, "anmerkungen": colNote, "kommentare": colNote, "remarks": colNote, "kommentar": colNote,
}

// An Imported block is what a hand-made table came to.
type Imported struct {
	Block   *plan.Block
	Read    int      // exercises recognised
	Rows    int      // rows that name an exercise
	Unread  []Unread // cells that could not be read, each with a guess where there is one
	Guesses []string // what was taken for something that was not plainly said
}

// ImportAs says what a table does not.
type ImportAs struct {
	Client string    // client file, named relative to the block
	Group  string    // group file in its stead, for a block many members follow
	Start  form.Date // Monday of the first week; zero for what the table says
	Monday form.Date // the Monday where neither says one
}

// A table is the text of a tab, by rows.
type table struct {
	name string
	rows [][]string
}

// Import reads a hand-made table, .xlsx or .csv, into a block: a row an exercise,
// columns in any order, weeks side by side or in a column, sessions as tabs,
// headings or a column. What cannot be read goes into notes and is listed.
//
// A table of our own, exported as CSV or in a workbook, comes back exactly
// (table.go).
func Import(name string, data []byte, lib *exercise.Library, as ImportAs) (*Imported, error) {
	tables, err := tablesOf(path.Base(name), data)
	if err != nil {
		return nil, err
	}
	im := &importer{lib: lib, started: !as.Start.IsZero(), out: &Imported{Block: &plan.Block{Form: form.Version, ID: "imported", Name: "Imported block",
		Client: as.Client, Group: as.Group, Start: as.Start, Weeks: 1, State: plan.Draft, Revision: 1}}, ids: map[form.ID]bool{}, typos: map[string]string{}}
	if !im.started {
		im.out.Block.Start = as.Monday
	}
	if bytes.HasPrefix(data, []byte("PK")) {
		im.out.Unread = withoutValue(data)
	}
	b := im.out.Block
	if slices.ContainsFunc(tables, im.ourTable) && len(b.Sessions) > 0 {
		if len(tables) > 1 {
			im.guess("results typed into the other tabs are read by `corbel record import`")
		}
		return im.out, nil
	}
	for _, t := range tables {
		im.table(t, len(tables) > 1)
	}
	b.Sessions = slices.DeleteFunc(b.Sessions, func(s plan.Session) bool { return len(s.Slots) == 0 && im.keepNote(s) })
	if len(b.Sessions) == 0 {
		return nil, fmt.Errorf("%s: no table with exercises was found; it needs a row of heads such as Exercise, Sets, Reps, Load", name)
	}
	days := client.Weekday("").Values()
	for i := range b.Sessions {
		b.Sessions[i].Day = dayNamed(b.Sessions[i].Name)
		if b.Sessions[i].Day == "" {
			b.Sessions[i].Day = client.Weekday(days[(2*i)%len(days)])
		}
		b.Sessions[i].Place = "gym"
	}
	im.out.Guesses = append(im.out.Guesses, "days and places of the sessions are not in the table; set them in the block")
	return im.out, nil
}

// dayNamed returns the day of the week a session's name says, or nothing.
func dayNamed(name string) client.Weekday {
	for _, word := range wordOnly.FindAllString(strings.ToLower(name), -1) {
		for _, d := range client.Weekday("").Values() {
			day := client.Weekday(d)
			if en, de := strings.ToLower(day.In(form.English)), strings.ToLower(day.In(form.German)); word == en || word == de || word == d || word == de[:2] {
				return day
			}
		}
	}
	return ""
}

// keepNote moves the note of a session without exercises to the block.
func (im *importer) keepNote(s plan.Session) bool {
	im.note(&im.out.Block.Private, s.Note)
	im.note(&im.out.Block.Private, s.Name)
	return true
}

// tablesOf reads the tabs of a workbook or the one table of a CSV file.
func tablesOf(name string, data []byte) ([]table, error) {
	if !strings.HasSuffix(strings.ToLower(name), ".csv") && (bytes.HasPrefix(data, []byte("PK")) || bytes.HasPrefix(data, []byte("\xd0\xcf"))) || strings.HasSuffix(strings.ToLower(name), ".xlsx") {
		return bookTables(name, data)
	}
	if len(data) > maxBook {
		return nil, fmt.Errorf("%s: the table is larger than %d MB", name, maxBook>>20)
	}
	if !utf8.Valid(data) || bytes.IndexByte(data, 0) >= 0 {
		return nil, fmt.Errorf("%s: the table is not UTF-8 text; save it as CSV UTF-8", name)
	}
	data = bytes.TrimPrefix(data, []byte(byteOrderMark))
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord, r.LazyQuotes = -1, true
	r.Comma = separator(data)
	t := table{name: name}
	for {
		row, err := r.Read()
		if err == io.EOF {
			return []table{t}, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %v; the table cannot be read from there on", name, err)
		}
		if len(t.rows) == maxRows {
			return nil, fmt.Errorf("%s: more than %d rows", name, maxRows)
		}
		t.rows = append(t.rows, row)
	}
}

// separator is the character most often found in the first lines that separates
// columns.
func separator(data []byte) rune {
	head := data[:min(len(data), 4000)]
	best, most := ',', -1
	for _, c := range []rune{',', ';', '\t'} {
		if n := bytes.Count(head, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}

// bookTables reads every tab of a workbook.
func bookTables(name string, data []byte) ([]table, error) {
	f, err := openBook(name, data)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var out []table
	for _, tab := range f.GetSheetList() {
		rows, err := rowsOf(f, tab)
		if err != nil {
			return nil, fmt.Errorf("%s, tab %s: %v", name, tab, err)
		}
		out = append(out, table{tab, rows})
	}
	return out, nil
}

// importer gathers a block from tables.
type importer struct {
	lib     *exercise.Library
	out     *Imported
	started bool // the first Monday was given
	ids     map[form.ID]bool
	session int               // place of the session under way, -1 before the first
	seen    map[string]int    // slots by session and exercise
	typos   map[string]string // what texts were found to be typos of
}

// A head is the row of column heads of a table.
type head struct {
	row   int
	kinds []columnKind
	weeks []int    // week of a column, 1 where weeks are not told apart
	units []string // kg, lb or % said in the head

}

// table reads one table: everything above its heads is a heading.
func (im *importer) table(t table, tabs bool) {
	h, ok := findHead(t.rows)
	if !ok {
		return
	}
	im.session, im.seen = -1, map[string]int{}
	name := "Session"
	if tabs {
		name = t.name
	}
	for _, row := range t.rows[:max(h.row-1, 0)] {
		for _, c := range row {
			im.note(&im.out.Block.Private, clean(c))
		}
	}
	for i := h.row + 1; i < len(t.rows); i++ {
		im.row(t, h, i, name)
	}
}

// findHead finds the row of heads: the first in which an exercise column and one
// more are recognised.
func findHead(rows [][]string) (head, bool) {
	for i := range rows[:min(len(rows), 60)] {
		h := head{row: i}
		count := map[columnKind]int{}
		for j, c := range rows[i] {
			k, week, unit := headOf(c)
			if week == 0 && i > 0 {
				week = weekAbove(rows[i-1], j)
			}
			count[k]++
			if week == 0 && k >= colSets {
				week = count[k]
			}
			h.kinds, h.weeks, h.units = append(h.kinds, k), append(h.weeks, max(week, 1)), append(h.units, unit)
		}
		if count[colExercise] > 0 && count[colSets]+count[colReps]+count[colLoad]+count[colDose]+count[colOneSet] > 0 {
			return h, true
		}
	}
	return head{}, false
}

// weekAbove returns the week a merged cell in the row above a head names: the
// nearest named cell at or left of the column.
func weekAbove(row []string, column int) int {
	for j := min(column, len(row)-1); j >= 0; j-- {
		if m := weekWord.FindStringSubmatch(strings.ToLower(row[j])); m != nil {
			n, _ := strconv.Atoi(m[1])
			return n
		}
	}
	return 0
}

var (
	weekWord = regexp.MustCompile(`(?:week|woche|wk|w|kw)\s*\.?\s*(\d{1,2})`)
	oneSet   = regexp.MustCompile(`^(?:set|satz|serie)\s*\.?\s*#?(\d{1,2})$`)
	wordOnly = regexp.MustCompile(`[\pL0-9]+`)
)

// headOf reads one head: what the column holds, its week and its unit.
func headOf(s string) (k columnKind, week int, unit string) {
	text := strings.ToLower(clean(s))
	if m := oneSet.FindStringSubmatch(text); m != nil {
		week, _ = strconv.Atoi(m[1])
		return colOneSet, week, ""
	}
	if m := weekWord.FindStringSubmatch(text); m != nil {
		week, _ = strconv.Atoi(m[1])
	}
	for _, w := range []string{"kg", "lb", "%"} {
		if strings.Contains(text, w) {
			unit = w
		}
	}
	for _, w := range wordOnly.FindAllString(text, -1) {
		if found, ok := columnWords[w]; ok && (k == colNone || k == colLoad || k == colWeek) {
			k = found
		}
	}
	if k == colSets && (strings.Contains(text, "reps") || strings.Contains(text, "wdh") || strings.Contains(text, "x")) {
		k = colDose
	}
	if week > 0 && (k == colNone || k == colWeek) {
		k = colDose
	}
	return k, week, unit
}

// clean trims a cell and replaces curly quotes and odd spaces.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 || r == '\ufeff' || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, s)
	return strings.TrimSpace(strings.NewReplacer("\u00a0", " ", "\u202f", " ", "“", `"`, "”", `"`, "„", `"`, "’", "'", "‘", "'").Replace(Unguard(s)))
}

// row reads one row: an exercise, a heading, or text that goes into notes.
func (im *importer) row(t table, h head, i int, name string) {
	cells := map[columnKind]map[int]cellAt{}
	var loose []string
	week, filled := 0, 0
	for j, raw := range t.rows[i] {
		text := clean(raw)
		if text == "" {
			continue
		}
		filled++
		k := colNone
		w := 1
		unit := ""
		if j < len(h.kinds) {
			k, w, unit = h.kinds[j], h.weeks[j], h.units[j]
		}
		switch k {
		case colNone:
			loose = append(loose, text)
			continue
		case colWeek:
			if m := digits.FindString(text); m != "" {
				week, _ = strconv.Atoi(m)
			}
			continue
		}
		if cells[k] == nil {
			cells[k] = map[int]cellAt{}
		}
		if _, ok := cells[k][w]; ok {
			loose = append(loose, text)
			continue
		}
		cells[k][w] = cellAt{text, fmt.Sprintf("%s%d", columnName(j), i+1), unit}
	}
	ex, has := cells[colExercise][1]
	if s, ok := cells[colSession][1]; ok {
		im.startSession(s.text)
	}
	switch {
	case filled == 0:
		return
	case !has:
		if filled == 1 && len(loose) == 0 && len(cells[colSession]) > 0 {
			return // a session named on a row of its own
		}
		im.looseRow(t, i, cells, loose, name)
		return
	case filled == 1 && im.lib.Find(ex.text) == nil && !im.close(ex.text):
		im.startSession(ex.text) // a heading between exercises
		return
	}
	im.exercise(t, cells, loose, week, ex, name)
}

// A cellAt is a cell with its address.
type cellAt struct{ text, at, unit string }

// columnName is the letter name of a column, from 0.
func columnName(j int) string {
	name := ""
	for j++; j > 0; j = (j - 1) / 26 {
		name = string(rune('A'+(j-1)%26)) + name
	}
	return name
}

// looseRow keeps the text of a row without an exercise.
func (im *importer) looseRow(t table, i int, cells map[columnKind]map[int]cellAt, loose []string, name string) {
	for _, k := range []columnKind{colSession, colSets, colReps, colLoad, colDose, colReserve, colRating, colRest, colTempo, colNote, colOneSet} {
		for w := 1; w <= 12; w++ {
			if c, ok := cells[k][w]; ok && k != colSession {
				loose = append(loose, c.text)
				im.out.Unread = append(im.out.Unread, Unread{t.name, c.at, c.text, "the row names no exercise; kept in the note of the session"})
			}
		}
	}
	s := im.current(name)
	im.note(&s.Note, strings.Join(loose, ", "))
}

// note adds a text to a note, each once.
func (im *importer) note(to *string, text string) {
	if text == "" || strings.Contains(*to, text) || len(*to) > 8000 {
		return
	}
	if *to != "" {
		*to += "; "
	}
	*to += text
}

// startSession starts or goes on with the session of a name.
func (im *importer) startSession(name string) {
	for i, s := range im.out.Block.Sessions {
		if s.Name == name {
			im.session = i
			return
		}
	}
	if len(im.out.Block.Sessions) == maxImported {
		im.note(&im.out.Block.Private, name)
		return
	}
	im.out.Block.Sessions = append(im.out.Block.Sessions, plan.Session{ID: im.id(name, "session"), Name: name})
	im.session = len(im.out.Block.Sessions) - 1
}

// Bounds of a block (plan/read.go).
const (
	maxImported = 14
	maxPerVisit = 40
)

// current returns the session under way.
func (im *importer) current(name string) *plan.Session {
	if im.session < 0 {
		im.startSession(name)
	}
	return &im.out.Block.Sessions[im.session]
}

var notID = regexp.MustCompile(`[^a-z0-9]+`)

// id makes an id of a text that no other has.
func (im *importer) id(text, fallback string) form.ID {
	base := strings.Trim(notID.ReplaceAllString(strings.ToLower(text), "-"), "-")
	if base == "" {
		base = fallback
	}
	base = strings.Trim(base[:min(len(base), 40)], "-")
	for n := 1; ; n++ {
		id := form.ID(base)
		if n > 1 {
			id = form.ID(fmt.Sprintf("%s-%d", base, n))
		}
		if !im.ids[id] {
			im.ids[id] = true
			return id
		}
	}
}

// close says whether a text is near enough to an exercise to be a typo.
func (im *importer) close(text string) bool { return im.typo(text) != "" }

// typo returns the exercise a text is a typo of, or nothing: at most one letter
// in five differs.
func (im *importer) typo(text string) string {
	id, known := im.typos[text]
	if !known {
		id = im.findTypo(text)
		im.typos[text] = id
	}
	return id
}

// longestName is the longest text that is compared with the names of exercises,
// bytes (our judgement: twice the longest name). Longer ones are no names, and
// each comparison takes its length in time.
const longestName = 100

func (im *importer) findTypo(text string) string {
	if len(text) > longestName {
		return ""
	}
	_, near := im.lib.Name(text)
	for _, id := range near {
		e := im.lib.ByID(id)
		for _, n := range slices.Concat([]string{id, e.Name.En, e.Name.De}, e.Words.En, e.Words.De) {
			if form.Edits(text, n) <= max(1, utf8.RuneCountInString(n)/5) {
				return id
			}
		}
	}
	return ""
}

// abbreviations of implements in front of a name.
var abbreviations = regexp.MustCompile(`(?i)^(kh|lh|kb|db|bb)[-. ]+`)

// spelledOut writes an abbreviated implement in full: KH-Rudern, DB row. A barbell
// is what a name means that says nothing, and is left out.
func spelledOut(name string) string {
	return abbreviations.ReplaceAllStringFunc(name, func(m string) string {
		return map[string]string{"kh": "Kurzhantel", "kb": "Kettlebell ", "db": "Dumbbell "}[strings.ToLower(strings.TrimRight(m, "-. "))]
	})
}

var inBrackets = regexp.MustCompile(`\s*[(\[][^)\]]*[)\]]\s*`)

// recognise finds the exercise of a cell: by name, without what stands in
// brackets, or as a typo.
func (im *importer) recognise(t table, ex cellAt) (id string, rest []string) {
	if e := im.lib.Find(ex.text); e != nil {
		return string(e.ID), nil
	}
	bare := strings.TrimSpace(inBrackets.ReplaceAllString(ex.text, " "))
	bare = strings.TrimSpace(rowNumber.ReplaceAllString(bare, ""))
	if bare != ex.text {
		rest = []string{ex.text}
	}
	if e := im.lib.Find(bare); e != nil {
		return string(e.ID), rest
	}
	if long := spelledOut(bare); long != bare {
		if e := im.lib.Find(long); e != nil {
			return string(e.ID), []string{ex.text}
		}
	}
	if id := im.typo(bare); id != "" {
		im.out.Guesses = append(im.out.Guesses, fmt.Sprintf("%s!%s: %q was taken for %s", t.name, ex.at, ex.text, id))
		return id, []string{ex.text}
	}
	_, near := im.lib.Name(bare[:min(len(bare), longestName)])
	why := "not an exercise of the library; kept in the note of the session"
	if len(near) > 0 {
		why += "; nearest: " + strings.Join(near, ", ")
	}
	im.out.Unread = append(im.out.Unread, Unread{t.name, ex.at, ex.text, why})
	return "", nil
}

// Spellings found in hand-made tables.
var (
	digits    = regexp.MustCompile(`\d+`)
	rowNumber = regexp.MustCompile(`^(?:[A-Za-z]?\d{1,2}[.):]|[A-Z]\d\s)\s*`)
)
