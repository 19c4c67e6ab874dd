package web

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"corbel/check"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// number reads a number of a form; what is none is 0, which no check takes.
func number(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		return 0
	}
	return n
}

// block shows the table of a block with what a check found beside it.
func (s *server) block(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "block", s.blockData(v, c))
	return nil
}

// blockData is what the table and the checks show.
func (s *server) blockData(v *visit, c *practice.Case) map[string]any {
	r, whole := s.practice.CheckTable(c, v.language(), true)
	state := s.tableState(v, c, r, whole)
	state.Side = "" // it stands in the page
	text, err := json.Marshal(state)
	if err != nil {
		panic("web: a table cannot be written")
	}
	return map[string]any{"Title": c.Block.Name, "Case": c, "Block": c.Block, "Client": c.Client, "State": string(text), "Partly": false,
		"Table": s.practice.Table(c, v.language()), "Report": r, "Library": s.practice.Library.All(), "Wide": true}
}

// cells changes cells of the table without script: every cell comes with what it
// was.
func (s *server) cells(v *visit) error {
	base := number(v.FormValue("base")) // reads the form
	var edits []practice.CellEdit
	for name, values := range v.Form {
		slot, field, ok := strings.Cut(strings.TrimPrefix(name, "cell "), " ")
		if !ok || !strings.HasPrefix(name, "cell ") {
			continue
		}
		to := strings.Join(strings.Fields(values[0]), " ") // a cell is one line
		if was := v.Form.Get("was " + slot + " " + field); was != to {
			edits = append(edits, practice.CellEdit{Slot: slot, Field: field, Was: was, To: to})
		}
	}
	id := v.PathValue("id")
	if len(edits) > 0 {
		if _, err := s.practice.Type(v.Context(), v.who, id, v.FormValue("op"), base, edits); err != nil {
			return err
		}
	}
	return v.to("/blocks/" + id)
}

// slot adds, moves, swaps or takes out an exercise.
func (s *server) slot(v *visit) error {
	id, slot := v.PathValue("id"), form.ID(v.FormValue("slot"))
	_, err := s.practice.Edit(v.Context(), v.who, id, arranged[v.FormValue("do")], v.FormValue("op"), func(b *plan.Block) error {
		return s.practice.Arrange(b, v.FormValue("do"), slot, form.ID(v.FormValue("session")), v.FormValue("exercise"), v.FormValue("dose"))
	})
	if err != nil {
		return err
	}
	if v.FormValue("do") == "out" || slot == "" {
		return v.to("/blocks/" + id)
	}
	return v.to("/blocks/" + id + "#" + url.PathEscape(string(slot)))
}

// wayOut applies a way out of a problem.
func (s *server) wayOut(v *visit) error {
	id := v.PathValue("id")
	if _, err := s.practice.TakeWayOut(v.Context(), v.who, id, v.FormValue("fix"), v.FormValue("op")); err != nil {
		return err
	}
	return v.to("/blocks/" + id + "#checks")
}

// keep writes down why a problem is kept.
func (s *server) keep(v *visit) error {
	id := v.PathValue("id")
	if err := s.practice.Keep(v.Context(), v.who, id, v.FormValue("problem"), v.FormValue("why"), v.FormValue("op")); err != nil {
		return err
	}
	return v.to("/blocks/" + id + "#checks")
}

// recordPage shows a session to be recorded.
func (s *server) recordPage(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	session, week := v.FormValue("session"), number(v.FormValue("week"))
	due := s.practice.Due(c)
	next := slices.IndexFunc(due, func(d practice.DueSession) bool { return !d.Recorded })
	if session == "" && v.FormValue("all") == "" && next >= 0 { // the one due next
		session, week = due[next].Session, due[next].Week
	}
	data := map[string]any{"Title": v.say("Record", "Eintragen"), "Case": c, "Block": c.Block, "Client": c.Client, "Session": session, "Week": week}
	if session == "" {
		data["Due"], data["Next"] = due, practice.DueSession{}
		if next >= 0 {
			data["Next"] = due[next]
		}
	} else {
		laid, rows, err := s.practice.Sheet(c, session, week, v.language())
		if err != nil {
			return err
		}
		data["Laid"], data["Rows"], data["Form"] = laid, rows, url.Values{}
	}
	s.show(v, http.StatusOK, "record", data)
	return nil
}

// record stores a session as it was done. What cannot be read is shown beside what
// was typed.
func (s *server) record(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	in := practice.Recorded{Session: v.FormValue("session"), Week: number(v.FormValue("week")), On: v.FormValue("on"), Rating: v.FormValue("rating"),
		Minutes: v.FormValue("minutes"), Note: v.FormValue("note"), PainPlace: v.FormValue("pain-place"), PainSide: v.FormValue("pain-side"),
		PainDuring: v.FormValue("pain-during"), PainSlot: v.FormValue("pain-slot"), Sets: map[string]string{}}
	for name := range v.Form {
		if set, ok := strings.CutPrefix(name, "set "); ok {
			in.Sets[set] = strings.TrimSpace(v.Form.Get(name))
		}
	}
	err = s.practice.RecordTyped(v.Context(), v.who, c, in, v.FormValue("op"))
	var e *practice.Error
	if errors.As(err, &e) && e.Reason == practice.Refused {
		laid, rows, err := s.practice.Sheet(c, in.Session, in.Week, v.language())
		if err != nil {
			return err
		}
		s.show(v, http.StatusUnprocessableEntity, "record", map[string]any{"Title": v.say("Record", "Eintragen"), "Case": c, "Block": c.Block, "Client": c.Client,
			"Session": in.Session, "Week": in.Week, "Laid": laid, "Rows": rows, "Form": v.Form, "Error": e})
		return nil
	}
	if err != nil {
		return err
	}
	return v.to("/clients/" + c.Doc.Owner)
}

// workbook takes in a workbook of results that came back.
func (s *server) workbook(v *visit) error {
	file, _, err := v.Request.FormFile("workbook")
	if err != nil {
		return &practice.Error{Reason: practice.Refused, At: "workbook", Text: "choose the workbook (.xlsx) that came back"}
	}
	data, err := io.ReadAll(file)
	if err != nil {
		return err
	}
	sets, unread, err := s.practice.TakeWorkbook(v.Context(), v.who, v.PathValue("id"), data, v.FormValue("op"))
	if err != nil {
		return err
	}
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "taken", map[string]any{"Title": v.say("Taken in", "Aufgenommen"), "Block": c.Block, "Client": c.Client, "Sets": sets, "Unread": unread})
	return nil
}

// handOverPage shows what stops a hand-over, and the sheet as it will be.
func (s *server) handOverPage(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	list, err := s.practice.HandedOver(v.Context(), v.who, c.Doc.ID)
	if err != nil {
		return err
	}
	report := s.practice.Check(c, v.language())
	var stops []check.Problem
	for _, p := range report.Problems {
		if p.Blocks() {
			stops = append(stops, p)
		}
	}
	s.show(v, http.StatusOK, "hand-over", map[string]any{"Title": v.say("Hand over", "Übergeben"), "Case": c, "Block": c.Block, "Client": c.Client,
		"Stops": stops, "Settle": report.Count(check.Settle), "Frozen": list})
	return nil
}

// handOver freezes the block.
func (s *server) handOver(v *visit) error {
	id := v.PathValue("id")
	if _, err := s.practice.HandOver(v.Context(), v.who, id, v.FormValue("op")); err != nil {
		return err
	}
	return v.to("/blocks/" + id + "/hand-over")
}

// sheetPolicy lets a sheet, which carries its own style and font, be shown in a
// frame, and run nothing.
const sheetPolicy = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; frame-ancestors 'self'; sandbox"

// sheetPage shows the sheet of a block as it stands.
func (s *server) sheetPage(v *visit) error {
	data, err := s.practice.Preview(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Security-Policy", sheetPolicy)
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = v.w.Write(data) // the browser may have gone
	return nil
}

// frozen sends what was handed over, in one format. The name of the file names
// nobody.
func (s *server) frozen(v *visit) error {
	format := v.PathValue("format")
	data, kind, err := s.practice.FrozenAs(v.Context(), v.who, v.PathValue("code"), format)
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", kind)
	if format == "html" {
		v.w.Header().Set("Content-Security-Policy", sheetPolicy)
	} else {
		v.w.Header().Set("Content-Disposition", `attachment; filename="`+v.PathValue("code")+"."+format+`"`)
	}
	_, _ = v.w.Write(data) // the browser may have gone
	return nil
}
