package practice

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"

	"corbel/check"
	"corbel/form"
	"corbel/plan"
)

// mostTables bounds the checked blocks kept in memory: some 2 MB each for a block of
// 6 sessions of 8 exercises (our judgement; key judgement).
const mostTables = 32

// tables keeps the checked blocks that were typed into last, so that an edit is
// checked again in some ms.
type tables struct {
	mu   sync.Mutex
	list []*checkedTable // the one used last comes last
}

// A checkedTable is a checked block with what it was made of.
type checkedTable struct {
	key     string // block, member and language
	around  string // hash of the day, client, log and rules of the practice
	text    string // of the block
	uses    string // exercises in the block
	whole   bool   // with ways out
	checked *check.Checked
	again   *sync.Mutex // checking again shares sessions with what it starts from: one at a time
}

// find returns the table kept under a key, or nil.
func (t *tables) find(key string) *checkedTable {
	t.mu.Lock()
	defer t.mu.Unlock()
	for i, x := range t.list {
		if x.key == key {
			t.list = append(slices.Delete(t.list, i, i+1), x)
			return x
		}
	}
	return nil
}

// keep puts a table in place of the one of the same key.
func (t *tables) keep(x *checkedTable) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.list = append(slices.DeleteFunc(t.list, func(o *checkedTable) bool { return o.key == x.key }), x)
	if len(t.list) > mostTables {
		t.list = slices.Delete(t.list, 0, 1)
	}
}

// forget drops everything.
func (t *tables) forget() {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.list = nil
}

// CheckTable checks a case as [Practice.Check] does. Where whole is false the report
// may be without ways out, and then costs a few ms: sessions that did not change keep
// what was worked out for them. It says whether ways out are in it.
func (p *Practice) CheckTable(c *Case, l form.Language, whole bool) (*check.Report, bool) {
	now := p.tableOf(c, l)
	old := p.tables.find(now.key)
	if old != nil && old.around == now.around && old.uses == now.uses {
		if old.text == now.text && (old.whole || !whole) {
			return old.checked.Report, old.whole
		}
		if !whole {
			now.checked, now.again = old.recheck(c.Block), old.again
			p.tables.keep(now)
			return now.checked.Report, false
		}
	}
	now.checked, now.whole, now.again = check.Run(p.input(c, l, 0)), true, &sync.Mutex{}
	p.tables.keep(now)
	return now.checked.Report, true
}

// recheck checks an edited block.
func (t *checkedTable) recheck(b *plan.Block) *check.Checked {
	t.again.Lock()
	defer t.again.Unlock()
	return check.Recheck(t.checked, b)
}

// tableOf says what a checked table of a case is made of.
func (p *Practice) tableOf(c *Case, l form.Language) *checkedTable {
	return &checkedTable{key: strings.Join([]string{c.Doc.ID, c.Member, string(l)}, " "), around: p.around(c), text: c.Doc.Text, uses: usesOf(c.Block)}
}

// usesOf lists the exercises of a block and its changes.
func usesOf(b *plan.Block) string {
	var out []string
	for i := range b.Sessions {
		for j := range b.Sessions[i].Slots {
			out = append(out, b.Sessions[i].Slots[j].Exercise)
		}
	}
	for _, c := range b.Changes {
		out = append(out, c.Exercise)
	}
	slices.Sort(out)
	return strings.Join(slices.Compact(out), " ")
}

// TryCells checks a case as it would be with other cells; nothing is stored. Cells
// that cannot be read are left as they are and come back with what is wrong.
func (p *Practice) TryCells(ctx context.Context, who *Account, block string, cells []CellEdit, l form.Language) (*Case, *check.Report, []WrongCell, error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return nil, nil, nil, err
	}
	before := *c
	c.Block = c.Block.Clone()
	var wrong []WrongCell
	for _, e := range cells {
		week := 1
		if e.Field != "dose" {
			if _, err := fmt.Sscanf(e.Field, "weeks.%d", &week); err != nil {
				continue // exercises and rests are checked when they are stored
			}
		}
		switch err := setDose(c.Block, form.ID(e.Slot), week, e.To); {
		case err == nil:
		case err.Reason == Refused:
			wrong = append(wrong, WrongCell{e.Slot, e.Field, err.Text})
		default:
			return nil, nil, nil, err
		}
	}
	now := p.tableOf(&before, l)
	old := p.tables.find(now.key)
	if old == nil || old.around != now.around || old.uses != now.uses {
		p.CheckTable(&before, l, false)
		old = p.tables.find(now.key)
	}
	if old == nil { // 32 others came between
		return c, p.Check(c, l), wrong, nil
	}
	return c, old.recheck(c.Block).Report, wrong, nil
}

// A WrongCell is a cell of the table whose text cannot be read, with why.
type WrongCell struct {
	Slot  string `json:"slot"`
	Field string `json:"field"`
	Text  string `json:"text"`
}

// WrongCells lists the cells that cannot be stored, all of them.
func WrongCells(cells []CellEdit) (out []WrongCell) {
	for _, e := range cells {
		text := strings.TrimSpace(e.To)
		switch {
		case e.Field == "rest":
		case text == "" && e.Field == "dose":
			out = append(out, WrongCell{e.Slot, e.Field, "week 1 needs a dose; to leave the exercise out, take its row out"})
		case text != "":
			if _, err := plan.ParseDose(text); err != nil {
				out = append(out, WrongCell{e.Slot, e.Field, err.Error()})
			}
		}
	}
	return out
}
