package practice

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/figure"
	"corbel/form"
	"corbel/plan"
	"corbel/sheet"
)

// Arrange adds, swaps, moves or takes out an exercise of a block.
func (p *Practice) Arrange(b *plan.Block, do string, slot, session form.ID, exercise, dose string) error {
	if do == "add" {
		return p.add(b, session, exercise, dose)
	}
	s, x := b.SlotByID(slot)
	if x == nil {
		return fail(Conflict, string(slot), "somebody took this exercise out of the block meanwhile; reload the page")
	}
	at := slices.IndexFunc(s.Slots, func(o plan.Slot) bool { return o.ID == slot })
	ok := true
	switch do {
	case "up":
		ok = b.Move(slot, at-1)
	case "down":
		ok = b.Move(slot, at+1)
	case "out":
		ok = b.Remove(slot)
	case "swap":
		id, near := p.Library.Name(exercise)
		if id == "" {
			return noExercise(exercise, near)
		}
		ok = b.Swap(slot, id)
	default:
		return fail(Refused, "do", "there is no such change of an exercise")
	}
	if !ok {
		return fail(Refused, string(slot), "that changes nothing: it is there already, or it is the last of the block")
	}
	return nil
}

// add puts an exercise at the end of a session, with an id never used in the block.
func (p *Practice) add(b *plan.Block, session form.ID, exercise, dose string) error {
	id, near := p.Library.Name(exercise)
	if id == "" {
		return noExercise(exercise, near)
	}
	d, err := plan.ParseDose(dose)
	if err != nil {
		return &Error{Reason: Refused, At: "dose", Text: err.Error()}
	}
	i := slices.IndexFunc(b.Sessions, func(s plan.Session) bool { return s.ID == session })
	if i < 0 {
		return fail(Refused, "session", "there is no session %q in this block", session)
	}
	// ids of slots are not used again, and one that was taken out may be in a log:
	// the revision makes the id new
	for n := 1; ; n++ {
		slot := form.ID(fmt.Sprintf("%s-r%d-%d", session, b.Revision+1, n))
		if _, old := b.SlotByID(slot); old == nil {
			b.Sessions[i].Slots = append(b.Sessions[i].Slots, plan.Slot{ID: slot, Exercise: id, Dose: d})
			return nil
		}
	}
}

// Keep writes down why a problem is lived with, for its slot or else for the client's
// block. Problems that nobody may keep stay.
func (p *Practice) Keep(ctx context.Context, who *Account, block, problem, why, id string) error {
	if strings.TrimSpace(why) == "" {
		return fail(Refused, "why", "say in a sentence why it is kept")
	}
	_, err := p.Edit(ctx, who, block, "kept a problem", id, func(b *plan.Block) error {
		c, err := p.Open(ctx, who, block)
		if err != nil {
			return err
		}
		r := p.Check(c, form.English)
		i := slices.IndexFunc(r.Problems, func(x check.Problem) bool { return x.ID == problem })
		if i < 0 {
			return fail(Conflict, "", "this problem is gone; reload the page")
		}
		k := client.Kept{Code: string(r.Problems[i].Code), Scope: client.KeptSlot, At: r.Problems[i].At.Slot, Why: why, By: who.Name, On: p.today()}
		if k.At == "" {
			k.Scope = client.KeptClient
		}
		if b.Start.Before(k.On) { // problems are judged as of the block's first day
			k.On = b.Start
		}
		b.Kept = append(b.Kept, k)
		return nil
	})
	return err
}

// A DueSession is a session of a week that can be recorded.
type DueSession struct {
	Session  string
	Name     string
	Week     int
	On       form.Date
	Recorded bool
}

// Due lists the sessions of a block in order of days, with what was recorded.
func (p *Practice) Due(c *Case) []DueSession { return dueOf(c) }

func dueOf(c *Case) []DueSession {
	var out []DueSession
	for w := 1; w <= c.Block.Weeks; w++ {
		for _, l := range c.Block.Lay(w) {
			d := DueSession{Session: string(l.Session.ID), Name: l.Session.Name, Week: w, On: l.On}
			if c.Log != nil {
				d.Recorded = slices.ContainsFunc(c.Log.Entries, func(e plan.Entry) bool {
					return e.Block == c.Block.ID && e.Session == l.Session.ID && e.Week == w
				})
			}
			out = append(out, d)
		}
	}
	return out
}

// Recorded is a session as it was typed. Sets are by slot, set and side, such as
// "a1 2 left": an empty text is the set as written, a dash and a reason a set left
// out.
type Recorded struct {
	Session                         string
	Week                            int
	On, Rating, Minutes, Note       string
	PainPlace, PainSide, PainDuring string
	PainSlot                        string // slot it hurt in; empty for the whole session
	Sets                            map[string]string
}

// RecordTyped reads what was typed and writes it into the log. The error names every
// set that cannot be read.
func (p *Practice) RecordTyped(ctx context.Context, who *Account, c *Case, in Recorded, id string) error {
	laid, rows, err := p.Sheet(c, in.Session, in.Week, form.English)
	if err != nil {
		return err
	}
	e := plan.Entry{Block: c.Block.ID, Revision: c.Block.Revision, Session: laid.Session.ID, Week: in.Week, On: laid.On, Note: in.Note, Source: "coach"}
	var wrong []string
	if in.On != "" {
		if e.On, err = form.ParseDate(in.On); err != nil {
			wrong = append(wrong, err.Error())
		}
	}
	for _, row := range rows {
		text := in.Sets[row.Key()]
		if why, ok := strings.CutPrefix(text, "-"); ok {
			if !slices.ContainsFunc(e.Skipped, func(s plan.Skipped) bool { return string(s.Slot) == row.Slot }) {
				why = strings.TrimSpace(why)
				if why == "" {
					why = "left out"
				}
				e.Skipped = append(e.Skipped, plan.Skipped{Slot: form.ID(row.Slot), Why: why})
			}
			continue
		}
		if text == "" {
			text = row.Done
		}
		done, err := plan.ParseDone(text)
		if err != nil {
			wrong = append(wrong, fmt.Sprintf("%s, set %d %s: %v", row.Name, row.Set, row.Side, err))
			continue
		}
		e.Sets = append(e.Sets, plan.SetLog{Slot: form.ID(row.Slot), Set: row.Set, Side: row.Side, Done: done})
	}
	wrong = append(wrong, in.rest(&e)...)
	if len(wrong) > 0 {
		return &Error{Reason: Refused, Text: "nothing was recorded yet. " + strings.Join(wrong, ". ")}
	}
	_, err = p.Record(ctx, who, c.Doc.Owner, e, id)
	return err
}

// rest reads rating, minutes and pain into the entry and says what is wrong.
func (in *Recorded) rest(e *plan.Entry) (wrong []string) {
	e.Rating = numberOf("rating", in.Rating, &wrong)
	if m := numberOf("minutes", in.Minutes, &wrong); m != nil {
		e.Minutes = int(*m)
	}
	during := numberOf("pain", in.PainDuring, &wrong)
	switch {
	case in.PainPlace != "":
		e.Pain = []plan.PainLog{{Place: anatomy.Place(in.PainPlace), Side: anatomy.Side(in.PainSide), Slot: form.ID(in.PainSlot), During: during}}
	case during != nil:
		wrong = append(wrong, "pain: choose where it hurt")
	}
	return wrong
}

// numberOf reads a number that may be left out; a comma is read as a point.
func numberOf(what, text string, wrong *[]string) *float64 {
	if text == "" {
		return nil
	}
	x, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil {
		*wrong = append(*wrong, fmt.Sprintf("%s: %q is not a number; write such as 6 or 6.5", what, text))
		return nil
	}
	return &x
}

// Preview returns the sheet of a block as it stands, as a page.
func (p *Practice) Preview(ctx context.Context, who *Account, block string) ([]byte, error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return nil, err
	}
	return sheet.HTML(sheet.NewContent(c.Block, c.Client, p.Library, c.Client.Language, nil, ""))
}

// FrozenAs returns what was handed over in a format, with its media type: pdf, html,
// xlsx, ics, csv, json. It is made of the frozen block and client, not of those that
// stand now.
func (p *Practice) FrozenAs(ctx context.Context, who *Account, code, format string) (data []byte, kind string, err error) {
	var f *Frozen
	err = p.Store.View(ctx, func(r Reader) error {
		if f, err = r.Frozen(code); errors.Is(err, ErrNone) {
			return fail(NotFound, "", "nothing was handed over as %s", code)
		} else if err != nil {
			return err
		}
		if ok, err := may(r, who, f.Owner); err != nil || !ok {
			return errors.Join(err, fail(NotFound, "", "nothing was handed over as %s", code))
		}
		return nil
	})
	if err != nil {
		return nil, "", err
	}
	var frozen sheet.Frozen
	if err := json.Unmarshal(f.Data, &frozen); err != nil {
		return nil, "", err
	}
	b, err := plan.ReadBlock("block", []byte(frozen.Block), p.Library.Name)
	if err != nil {
		return nil, "", err
	}
	c, err := client.Read("client", []byte(frozen.Client), p.Library.Name)
	if err != nil {
		return nil, "", err
	}
	content := sheet.NewContent(b, c, p.Library, c.Language, nil, code)
	switch format {
	case "pdf":
		data, err = sheet.PDF(content, sheet.PaperOptions{Paper: figure.A4, Figures: true}, f.At)
		return data, "application/pdf", err
	case "html":
		data, err = sheet.HTML(content)
		return data, "text/html; charset=utf-8", err
	case "xlsx":
		data, err = sheet.Workbook(content, b)
		return data, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", err
	case "ics":
		data, err = sheet.Calendar(content, b, c.Zone, f.At)
		return data, "text/calendar; charset=utf-8", err
	case "csv":
		data, err = sheet.CSV(content, b)
		return data, "text/csv; charset=utf-8", err
	case "json":
		return f.Data, "application/json", nil
	}
	return nil, "", fail(NotFound, "", "a sheet is had as pdf, html, xlsx, ics, csv or json")
}

// noExercise says that the library has no exercise of a name, and which are near.
func noExercise(typed string, near []string) *Error {
	if len(near) == 0 {
		return fail(Refused, "exercise", "there is no exercise %q; write a name, an abbreviation or an id of the library", typed)
	}
	return fail(Refused, "exercise", "there is no exercise %q; nearest: %s", typed, strings.Join(near, ", "))
}
