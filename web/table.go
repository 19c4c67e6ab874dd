package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"corbel/check"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// A tableState is what the island of the block table shows, as JSON.
type tableState struct {
	Block    string               `json:"block"`
	Version  int                  `json:"version"`
	Weeks    int                  `json:"weeks"`
	Sessions []tableSession       `json:"sessions"`
	Marks    map[string]tableMark `json:"marks"` // by slot and week, "a1 2"; slot alone is the whole row
	Side     string               `json:"side"`  // the problems and counts, as HTML
	Whole    bool                 `json:"whole"` // ways out are in it
}

// A tableSession is a session of the table.
type tableSession struct {
	ID   string     `json:"id"`
	Name string     `json:"name"`
	Note string     `json:"note"` // day and minutes
	Rows []tableRow `json:"rows"`
}

// A tableRow is an exercise of the table.
type tableRow struct {
	Slot  string      `json:"slot"`
	Name  string      `json:"name"`
	Cells []tableCell `json:"cells"`
}

// A tableCell is the dose of a week.
type tableCell struct {
	Field string `json:"field"` // dose, or weeks.3
	Typed string `json:"typed"` // empty where the week follows from others
	Comes string `json:"comes"` // what the week comes to
}

// A tableMark is the worst problem of a cell, with the texts of all.
type tableMark struct {
	Severity check.Severity `json:"severity"`
	Word     string         `json:"word"`
	Text     string         `json:"text"`
	Problem  string         `json:"problem"` // id of the worst
}

// tableState fills the state of a case with a report.
func (s *server) tableState(v *visit, c *practice.Case, r *check.Report, whole bool) *tableState {
	t := &tableState{Block: c.Doc.ID, Version: c.Doc.Version, Weeks: c.Block.Weeks, Marks: marks(r, v.language()), Whole: whole}
	for _, ts := range s.practice.Table(c, v.language()) {
		x := tableSession{ID: string(ts.Session.ID), Name: ts.Session.Name, Note: ts.Session.Day.In(v.language())}
		for _, m := range r.Sessions {
			if m.ID == x.ID && m.Week == 1 {
				x.Note += fmt.Sprintf(" · %s min", v.number(m.Minutes, 0))
			}
		}
		for _, row := range ts.Rows {
			tr := tableRow{Slot: row.Slot, Name: row.Name}
			for _, cell := range row.Cells {
				tr.Cells = append(tr.Cells, tableCell{cell.Field, cell.Typed, cell.Comes})
			}
			x.Rows = append(x.Rows, tr)
		}
		t.Sessions = append(t.Sessions, x)
	}
	t.Side = s.side(v, c, r, whole)
	return t
}

// marks lays the problems of a report on the cells they lie in.
func marks(r *check.Report, l form.Language) map[string]tableMark {
	out := map[string]tableMark{}
	for _, p := range r.Problems { // worst first
		if p.At.Slot == "" || p.Kept != "" {
			continue
		}
		key := p.At.Slot
		if p.At.Week > 0 {
			key += fmt.Sprintf(" %d", p.At.Week)
		}
		m, ok := out[key]
		if !ok {
			m = tableMark{Severity: p.Severity, Word: p.Severity.In(l), Problem: p.ID}
		}
		if m.Text != "" {
			m.Text += " "
		}
		m.Text += p.Text
		out[key] = m
	}
	return out
}

// side is the list of problems and the counts of the week, as HTML.
func (s *server) side(v *visit, c *practice.Case, r *check.Report, whole bool) string {
	var b bytes.Buffer
	data := map[string]any{"Block": c.Block, "Client": c.Client, "Report": r, "Case": c, "Partly": !whole}
	if err := s.pages[v.language()]["block"].ExecuteTemplate(&b, "side", data); err != nil {
		s.options.Log.Error("a part of a page could not be made", "error", err)
	}
	return b.String()
}

// state sends the table as it stands, with ways out.
func (s *server) state(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	r, whole := s.practice.CheckTable(c, v.language(), true)
	writeJSON(v.w, http.StatusOK, s.tableState(v, c, r, whole))
	return nil
}

// try checks the block with cells as they are being typed; nothing is stored.
func (s *server) try(v *visit) error {
	var in struct {
		Cells []practice.CellEdit `json:"cells"`
	}
	if err := json.NewDecoder(v.Body).Decode(&in); err != nil {
		return errUnread
	}
	c, r, wrong, err := s.practice.TryCells(v.Context(), v.who, v.PathValue("id"), in.Cells, v.language())
	if err != nil {
		return s.tableProblem(v, err)
	}
	writeJSON(v.w, http.StatusOK, map[string]any{"wrong": wrong, "marks": marks(r, v.language()), "side": s.side(v, c, r, false)})
	return nil
}

var errUnread = &practice.Error{Reason: practice.Refused, Text: "the change could not be read; reload the page"}

// typed changes cells of the table by script: JSON in, the table out.
func (s *server) typed(v *visit) error {
	var in struct {
		ID    string              `json:"id"`
		Base  int                 `json:"base"`
		Cells []practice.CellEdit `json:"cells"`
	}
	if err := json.NewDecoder(v.Body).Decode(&in); err != nil {
		return errUnread
	}
	if wrong := practice.WrongCells(in.Cells); len(wrong) > 0 {
		writeJSON(v.w, http.StatusUnprocessableEntity, map[string]any{"reason": practice.Refused, "text": wrong[0].Text, "wrong": wrong})
		return nil
	}
	if _, err := s.practice.Type(v.Context(), v.who, v.PathValue("id"), in.ID, in.Base, in.Cells); err != nil {
		return s.tableProblem(v, err)
	}
	return s.tableNow(v)
}

// tableNow sends the table after a change, checked again quickly.
func (s *server) tableNow(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	r, whole := s.practice.CheckTable(c, v.language(), false)
	writeJSON(v.w, http.StatusOK, s.tableState(v, c, r, whole))
	return nil
}

// tableProblem sends an error with the table as it stands, so that both values of a
// clash can be shown.
func (s *server) tableProblem(v *visit, err error) error {
	var e *practice.Error
	if !errors.As(err, &e) || e.Reason == practice.NotFound {
		return err
	}
	out := map[string]any{"reason": e.Reason, "at": e.At, "text": e.Text, "conflicts": e.Conflicts}
	if c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id")); err == nil {
		r, whole := s.practice.CheckTable(c, v.language(), false)
		out["state"] = s.tableState(v, c, r, whole)
	}
	writeJSON(v.w, statuses[e.Reason], out)
	return nil
}

// A tableAct is what the island does beside typing doses.
type tableAct struct {
	ID       string   `json:"id"`
	Do       string   `json:"do"` // add, move, up, down, out, swap, fix, keep, undo
	Slot     string   `json:"slot"`
	Session  string   `json:"session"`
	Exercise string   `json:"exercise"`
	Doses    []string `json:"doses"` // of an added exercise, week by week; empty follows the one before
	Fix      string   `json:"fix"`
	Problem  string   `json:"problem"`
	Why      string   `json:"why"`
}

// act does what the island asks for beside typing doses.
func (s *server) act(v *visit) error {
	var in tableAct
	if err := json.NewDecoder(v.Body).Decode(&in); err != nil {
		return errUnread
	}
	var err error
	switch id := v.PathValue("id"); in.Do {
	case "fix":
		_, err = s.practice.TakeWayOut(v.Context(), v.who, id, in.Fix, in.ID)
	case "keep":
		err = s.practice.Keep(v.Context(), v.who, id, in.Problem, in.Why, in.ID)
	case "undo":
		_, err = s.practice.Undo(v.Context(), v.who, practice.BlockDoc, id, in.ID)
	default:
		_, err = s.practice.Edit(v.Context(), v.who, id, arranged[in.Do], in.ID, func(b *plan.Block) error { return s.arrange(b, &in) })
	}
	if err != nil {
		return s.tableProblem(v, err)
	}
	return s.tableNow(v)
}

// arranged says what was done, in the audit.
var arranged = map[string]string{"up": "moved an exercise", "down": "moved an exercise", "out": "took an exercise out", "swap": "swapped an exercise", "add": "added an exercise"}

// arrange does one thing to the exercises of a block.
func (s *server) arrange(b *plan.Block, in *tableAct) error {
	first := ""
	if len(in.Doses) > 0 {
		first = in.Doses[0]
	}
	if err := s.practice.Arrange(b, in.Do, form.ID(in.Slot), form.ID(in.Session), in.Exercise, first); err != nil || in.Do != "add" {
		return err
	}
	for i := range b.Sessions {
		if string(b.Sessions[i].ID) != in.Session {
			continue
		}
		slot := &b.Sessions[i].Slots[len(b.Sessions[i].Slots)-1]
		for w := 2; w <= min(len(in.Doses), b.Weeks); w++ {
			if in.Doses[w-1] == "" {
				continue
			}
			d, err := plan.ParseDose(in.Doses[w-1])
			if err != nil {
				return &practice.Error{Reason: practice.Refused, At: fmt.Sprintf("weeks.%d", w), Text: err.Error()}
			}
			if slot.Weeks == nil {
				slot.Weeks = map[int]plan.Dose{}
			}
			slot.Weeks[w] = d
		}
	}
	return nil
}
