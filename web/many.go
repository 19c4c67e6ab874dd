package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"corbel/check"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// midwayOf reads a change in mid-block from a form.
func midwayOf(v *visit) (practice.Midway, error) {
	m := practice.Midway{Do: practice.MidwayKind(v.FormValue("do")), Session: form.ID(v.FormValue("session")), Place: form.ID(v.FormValue("place")), Why: v.FormValue("why")}
	for at, day := range map[string]*form.Date{"on": &m.On, "until": &m.Until} {
		if text := v.FormValue(at); text != "" {
			d, err := form.ParseDate(text)
			if err != nil {
				return m, &practice.Error{Reason: practice.Refused, At: at, Text: err.Error()}
			}
			*day = d
		}
	}
	return m, nil
}

// changePage shows the form of a change in mid-block.
func (s *server) changePage(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "change", s.changeData(v, c))
	return nil
}

// changeData is what the page of a change in mid-block shows.
func (s *server) changeData(v *visit, c *practice.Case) map[string]any {
	if v.Form == nil {
		_ = v.ParseForm() // a form that cannot be read has no values
	}
	return map[string]any{"Title": v.say("Change in mid-block", "Änderung im laufenden Block"), "Case": c, "Block": c.Block, "Client": c.Client, "Form": v.Form, "Today": s.practice.Now().Format("2006-01-02"),
		"Laid": s.laidChanges(v, c.Block, c.Block.Changes), "After": false}
}

// change shows what a change in mid-block would do, or lays it over the block.
func (s *server) change(v *visit) error {
	id := v.PathValue("id")
	c, err := s.practice.Open(v.Context(), v.who, id)
	if err != nil {
		return err
	}
	m, err := midwayOf(v)
	if err == nil && v.FormValue("sure") != "" {
		if _, err = s.practice.ChangeMidway(v.Context(), v.who, id, m, v.FormValue("op")); err == nil {
			return v.to("/blocks/" + id + "/change")
		}
	}
	data := s.changeData(v, c)
	status := http.StatusOK
	if err == nil {
		var after *plan.Block
		var known string
		if after, known, err = s.practice.LayOver(c, m, v.who.Name, v.language()); err == nil {
			data["After"], data["Known"] = true, known
			data["New"] = s.laidChanges(v, after, after.Changes[len(c.Block.Changes):])
			data["Weeks"] = s.leftOver(v, c, after)
		}
	}
	if err != nil {
		r := practice.ReasonOf(err)
		if r != practice.Refused && r != practice.Conflict {
			return err
		}
		data["Error"], status = err, statuses[r]
	}
	s.show(v, status, "change", data)
	return nil
}

// A laidChange is a change over a block, in words.
type laidChange struct{ Days, What, Why, By string }

// laidChanges puts changes of a block into words.
func (s *server) laidChanges(v *visit, b *plan.Block, list []plan.Change) (out []laidChange) {
	day := func(d form.Date) string { return d.Time().Format(v.say("2 Jan", "02.01.")) }
	for _, c := range list {
		x := laidChange{Days: day(c.On), Why: c.Why, By: c.By}
		switch {
		case c.Until.IsZero():
			x.Days = v.say("from ", "ab ") + x.Days
		case c.Until != c.On:
			x.Days += " – " + day(c.Until)
		}
		where := ""
		if _, slot := b.SlotByID(c.Slot); slot != nil {
			where = s.practice.ExerciseName(slot.Exercise, v.language()) + ": "
		}
		for _, session := range b.Sessions {
			if session.ID == c.Session {
				where = session.Name + ": "
			}
		}
		switch c.Do {
		case "pause":
			x.What = v.say("no training", "kein Training")
		case "place":
			x.What = where + v.say("in ", "in: ") + string(c.Place)
		case "dose":
			x.What = where + c.Dose.String()
		case "swap":
			x.What = where + v.say("instead ", "stattdessen ") + s.practice.ExerciseName(c.Exercise, v.language())
		default:
			x.What = where + v.say("left out", "ausgelassen")
		}
		out = append(out, x)
	}
	return out
}

// A weekLeft is what a week of a block has to do, before and after a change.
type weekLeft struct {
	Week          int
	Before, After string
	Same          bool
}

// leftOver counts what is to be done week by week, as it stands and with a change.
func (s *server) leftOver(v *visit, c *practice.Case, after *plan.Block) (out []weekLeft) {
	count := func(b *plan.Block, week int) string {
		sessions, sets := 0, 0
		for _, l := range b.Lay(week) {
			sessions++
			for _, x := range l.Slots {
				sets += x.Dose.Count()
			}
		}
		return v.counted(sessions, "session", "sessions", "Einheit", "Einheiten") + ", " + v.counted(sets, "set", "sets", "Satz", "Sätze")
	}
	for w := 1; w <= c.Block.Weeks; w++ {
		x := weekLeft{Week: w, Before: count(c.Block, w), After: count(after, w)}
		x.Same = x.Before == x.After
		out = append(out, x)
	}
	return out
}

// counted writes a number with its noun.
func (v *visit) counted(n int, one, more, eine, mehr string) string {
	if n == 1 {
		return "1 " + v.say(one, eine)
	}
	return fmt.Sprint(n) + " " + v.say(more, mehr)
}

// copyPage shows what of a block can be copied, and the sessions kept by name.
func (s *server) copyPage(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	kept, err := s.practice.Docs(v.Context(), v.who, practice.OwnDoc, "")
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "copy", map[string]any{"Title": v.say("Copy", "Kopieren"), "Block": c.Block, "Client": c.Client, "Kept": kept})
	return nil
}

// keepSession keeps a session of a block by name.
func (s *server) keepSession(v *visit) error {
	id := v.PathValue("id")
	if _, err := s.practice.KeepSession(v.Context(), v.who, id, form.ID(v.FormValue("session")), v.FormValue("name"), v.FormValue("op")); err != nil {
		return err
	}
	return v.to("/blocks/" + id + "/copy")
}

// dropSession takes a kept session out.
func (s *server) dropSession(v *visit) error {
	if err := s.practice.DropSession(v.Context(), v.who, v.PathValue("id")); err != nil {
		return err
	}
	return v.to("/many?do=copy")
}

// manyOf reads a change of many from a form.
func manyOf(v *visit) (practice.Many, error) {
	m := practice.Many{Do: practice.ManyKind(v.FormValue("do")), Clients: v.Form["client"], Exercise: v.FormValue("exercise"), To: v.FormValue("to"), Note: v.FormValue("note"),
		Seen: map[string]int{}}
	var err error
	if m.Pause, err = midwayOf(v); err != nil {
		return m, err
	}
	what := strings.Fields(v.FormValue("what")) // block, week 2, session a, slot a1, kept s1
	m.Copy = practice.Copy{Block: v.FormValue("block"), ReAim: v.FormValue("re-aim") != "", Into: form.ID(v.FormValue("into"))}
	if len(what) == 2 {
		switch what[0] {
		case "week":
			m.Copy.Week = number(what[1])
		case "session":
			m.Copy.Session = form.ID(what[1])
		case "slot":
			m.Copy.Slot = form.ID(what[1])
		case "kept":
			m.Copy.Kept = what[1]
		}
	}
	if text := v.FormValue("start"); text != "" {
		if m.Copy.Start, err = form.ParseDate(text); err != nil {
			return m, &practice.Error{Reason: practice.Refused, At: "start", Text: err.Error()}
		}
	}
	for name := range v.Form {
		if id, ok := strings.CutPrefix(name, "seen "); ok {
			m.Seen[id] = number(v.Form.Get(name))
		}
	}
	return m, nil
}

// manyPage shows the form of a change of many clients at once.
func (s *server) manyPage(v *visit) error {
	if err := v.ParseForm(); err != nil {
		return err
	}
	data, err := s.manyData(v)
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "many", data)
	return nil
}

// manyData is what the page of many shows: clients to choose, and what can be copied.
func (s *server) manyData(v *visit) (map[string]any, error) {
	docs, err := s.practice.Docs(v.Context(), v.who, practice.ClientDoc, "")
	if err != nil {
		return nil, err
	}
	kept, err := s.practice.Docs(v.Context(), v.who, practice.OwnDoc, "")
	if err != nil {
		return nil, err
	}
	do := v.Form.Get("do")
	if do == "" {
		do = string(practice.SwapMany)
	}
	kinds := []option{{string(practice.SwapMany), v.say("swap an exercise", "eine Übung tauschen")}, {string(practice.NoteMany), v.say("write a note", "eine Notiz schreiben")},
		{string(practice.PauseMany), v.say("pause", "pausieren")}, {string(practice.HandOverAll), v.say("hand over", "übergeben")}, {string(practice.CopyMany), v.say("copy something to them", "ihnen etwas kopieren")}}
	data := map[string]any{"Title": v.say("Many at once", "Viele auf einmal"), "Clients": docs, "Kinds": kinds, "Do": do, "Form": v.Form, "Kept": kept,
		"Library": s.practice.Library.All(), "Chosen": func(id string) bool { return slices.Contains(v.Form["client"], id) }, "Shown": false, "Done": false, "Today": s.practice.Now().Format("2006-01-02")}
	if id := v.Form.Get("block"); id != "" {
		c, err := s.practice.Open(v.Context(), v.who, id)
		if err != nil {
			return nil, err
		}
		data["From"], data["What"] = c, s.copyWords(v, c.Block, v.Form.Get("what"))
	}
	return data, nil
}

// copyWords says what is copied.
func (s *server) copyWords(v *visit, b *plan.Block, what string) string {
	kind, id, _ := strings.Cut(what, " ")
	switch kind {
	case "week":
		return v.say("week ", "Woche ") + id
	case "session":
		for _, x := range b.Sessions {
			if string(x.ID) == id {
				return x.Name
			}
		}
	case "slot":
		if _, x := b.SlotByID(form.ID(id)); x != nil {
			return s.practice.ExerciseName(x.Exercise, v.language())
		}
	}
	return v.say("the whole block", "der ganze Block")
}

// A difference is what a change does for one client, in words.
type difference struct {
	practice.Difference
	Lines  []line
	More   int // lines not shown
	Stops  []practice.ManyProblem
	Settle []practice.ManyProblem
}

// A line is one field that changes.
type line struct{ Where, Was, To string }

// mostLines is how many fields of one client are shown (our judgement; key judgement).
const mostLines = 8

// differences puts differences into words, those with something to do first.
func (s *server) differences(v *visit, list []practice.Difference) (out []difference) {
	for _, d := range list {
		x := difference{Difference: d}
		if d.None == "" {
			x.Lines = s.lines(v, &d)
			if len(x.Lines) > mostLines {
				x.Lines, x.More = x.Lines[:mostLines], len(x.Lines)-mostLines
			}
		}
		for _, p := range d.Problems {
			if p.Problem.Severity == check.Stop {
				x.Stops = append(x.Stops, p)
			} else {
				x.Settle = append(x.Settle, p)
			}
		}
		out = append(out, x)
	}
	slices.SortStableFunc(out, func(a, b difference) int {
		return map[bool]int{true: 1}[a.None != ""] - map[bool]int{true: 1}[b.None != ""]
	})
	return out
}

// lines lists what changes in a block: sessions, exercises and changes that are new one
// line each, and the fields of what was there before.
func (s *server) lines(v *visit, d *practice.Difference) (out []line) {
	before, after := d.Blocks()
	if after == nil {
		return nil
	}
	if before == nil {
		before = &plan.Block{}
	}
	isNew := map[string]bool{} // entries with a line of their own
	for _, x := range after.Sessions {
		old := slices.ContainsFunc(before.Sessions, func(o plan.Session) bool { return o.ID == x.ID })
		var texts []string
		for _, slot := range x.Slots {
			if _, was := before.SlotByID(slot.ID); was == nil {
				texts = append(texts, s.practice.ExerciseName(slot.Exercise, v.language())+" "+slot.Dose.String())
				isNew[string(slot.ID)] = true
			}
		}
		if !old {
			isNew[string(x.ID)] = true
			out = append(out, line{v.say("new session ", "neue Einheit ") + x.Name + ", " + x.Day.In(v.language()), "", strings.Join(texts, " · ")})
		} else if len(texts) > 0 {
			out = append(out, line{x.Name, "", v.say("added: ", "hinzugefügt: ") + strings.Join(texts, " · ")})
		}
	}
	for _, c := range after.Changes {
		if !slices.ContainsFunc(before.Changes, func(o plan.Change) bool { return o.ID == c.ID }) {
			isNew[string(c.ID)] = true
			l := s.laidChanges(v, after, []plan.Change{c})[0]
			out = append(out, line{l.Days, "", l.What + " (" + l.Why + ")"})
		}
	}
	if d.New {
		return out
	}
	for _, e := range d.Edits {
		if where, ok := s.whereWords(v, after, e.At, isNew); ok {
			out = append(out, line{where, s.valueWords(v, e.At, e.Was), s.valueWords(v, e.At, e.To)})
		}
	}
	return out
}

// whereWords names the place of a field; false for one that needs no line: of an entry
// that is new, of an order, of what stood there before.
func (s *server) whereWords(v *visit, b *plan.Block, at string, isNew map[string]bool) (string, bool) {
	var out []string
	for part := range strings.SplitSeq(at, ".") {
		name, id, _ := strings.Cut(strings.TrimSuffix(part, "]"), "[")
		if isNew[id] || strings.HasSuffix(name, "order") || name == "was" || name == "revision" {
			return "", false
		}
		switch name {
		case "sessions":
			for _, x := range b.Sessions {
				if string(x.ID) == id {
					out = append(out, x.Name)
				}
			}
		case "slots":
			if _, x := b.SlotByID(form.ID(id)); x != nil && !strings.HasSuffix(at, ".exercise") {
				out = append(out, s.practice.ExerciseName(x.Exercise, v.language()))
			}
		case "changes":
			out = append(out, v.say("change ", "Änderung ")+id)
		default:
			out = append(out, v.fieldWord(name))
		}
	}
	return strings.Join(out, " · "), true
}

// valueWords is the value of a field as it is read.
func (s *server) valueWords(v *visit, at, text string) string {
	if text = unquoted(text); strings.HasSuffix(at, ".exercise") {
		return s.practice.ExerciseName(text, v.language())
	}
	return text
}

// fieldWord is the word for a field of a block.
func (v *visit) fieldWord(name string) string {
	words := map[string]form.Text{"exercise": {En: "exercise", De: "Übung"}, "dose": {En: "dose", De: "Dosis"}, "weeks": {En: "week", De: "Woche"}, "note": {En: "note", De: "Notiz"},
		"on": {En: "from", De: "ab"}, "until": {En: "until", De: "bis"}, "why": {En: "why", De: "Grund"}, "by": {En: "by", De: "von"}, "do": {En: "what", De: "was"}, "scope": {En: "for", De: "für"}, "name": {En: "name", De: "Name"},
		"day": {En: "day", De: "Tag"}, "place": {En: "place", De: "Ort"}, "slot": {En: "exercise", De: "Übung"}, "session": {En: "session", De: "Einheit"}, "rest": {En: "rest", De: "Pause"}, "state": {En: "state", De: "Stand"}}
	if t, ok := words[name]; ok {
		return t.In(v.language())
	}
	return name
}

// unquoted is the value of a field as it is read: without the quotes of the file.
func unquoted(text string) string {
	if n := len(text); n >= 2 && (text[0] == '"' || text[0] == '\'') && text[n-1] == text[0] {
		return text[1 : n-1]
	}
	return text
}

// many shows what a change of many would do, or does it.
func (s *server) many(v *visit) error {
	op := v.FormValue("op") // reads the form
	m, err := manyOf(v)
	sure := v.FormValue("sure") != ""
	var list []practice.Difference
	if err == nil && sure {
		list, err = s.practice.DoMany(v.Context(), v.who, m, v.language(), op)
	} else if err == nil {
		list, err = s.practice.PreviewMany(v.Context(), v.who, m, v.language())
	}
	data, e := s.manyData(v)
	if e != nil {
		return e
	}
	status := http.StatusOK
	if err != nil {
		r := practice.ReasonOf(err)
		if r != practice.Refused && r != practice.Conflict {
			return err
		}
		data["Error"], status = err, statuses[r]
	} else {
		n := 0
		for _, d := range list {
			if d.None == "" {
				n++
			}
		}
		data["Shown"], data["Differences"], data["Count"] = !sure, s.differences(v, list), n
		data["Done"], data["Batch"] = sure, op
	}
	s.show(v, status, "many", data)
	return nil
}

// undoMany takes a change of many back.
func (s *server) undoMany(v *visit) error {
	n, err := s.practice.UndoMany(v.Context(), v.who, v.FormValue("batch"), v.FormValue("op"))
	if err != nil {
		return err
	}
	data, err := s.manyData(v)
	if err != nil {
		return err
	}
	data["Undone"] = fmt.Sprintf(v.say("Taken back for %d clients.", "Für %d Klienten zurückgenommen."), n)
	s.show(v, http.StatusOK, "many", data)
	return nil
}
