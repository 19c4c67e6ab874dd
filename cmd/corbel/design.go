package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"corbel/anatomy"
	"corbel/client"
	"corbel/design"
	"corbel/evidence"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/sheet"
)

// designCmd is corbel design.
type designCmd struct {
	Client     string        `arg:"" optional:"" help:"Client file."`
	Group      string        `help:"Group file: six sessions of which a member does the first 2 to 6." placeholder:"GROUP"`
	Any        bool          `help:"With --group: members do any sessions, not the first in listed order. It costs value, which is shown."`
	Minutes    int           `help:"With --group: minutes of a session." default:"60"`
	All        string        `help:"Folder: propose a block for every client file in it that has none proposed yet, CLIENT-proposed.yaml." placeholder:"DIR"`
	Out        string        `short:"o" help:"File to write the block to; what explains it is written beside it, to FILE without .yaml and with .design.json." placeholder:"BLOCK"`
	Effort     string        `help:"How long to search: quick, normal or thorough." default:"normal" enum:"quick,normal,thorough"`
	Seed       uint64        `help:"Seed of the search." default:"1"`
	Keep       string        `help:"Block whose exercises are to stay where they are worth it; its locked slots stay in any case." placeholder:"BLOCK"`
	Next       string        `help:"Block before: main lifts stay, drills while their limit is open, accessories take turns within their families unless the client wishes to keep. What changes is said." placeholder:"BLOCK"`
	FewChanges bool          `help:"Change as little of --keep as possible."`
	Prices     bool          `help:"Ask what lifting each rule would bring."`
	Start      form.Date     `help:"Monday of the first week; the next one if left out." placeholder:"DATE"`
	Draws      int           `help:"Draws the reasons are tested in." default:"200"`
	Language   form.Language `help:"en or de; the client's language if left out."`
	JSON       bool          `help:"Print JSON (docs/json/design.md)."`
}

// Run proposes a block. The answer is no where a stop stands that no choice of
// exercises avoids.
func (c *designCmd) Run(a *app) error {
	if err := c.fits(); err != nil {
		return err
	}
	switch {
	case c.Group != "":
		return c.group(a)
	case c.All != "":
		return c.all(a)
	}
	return c.one(a)
}

// fits refuses options that do not go together.
func (c *designCmd) fits() error {
	n := 0
	for _, said := range []string{c.Client, c.Group, c.All} {
		if said != "" {
			n++
		}
	}
	switch {
	case n != 1:
		return errors.New("corbel design wants one of CLIENT, --group GROUP and --all DIR")
	case c.Any && c.Group == "":
		return errors.New("--any goes with --group alone; leave it out")
	case c.FewChanges && c.Group != "":
		return errors.New("--few-changes goes with a client; for a group give --keep alone")
	case c.FewChanges && c.Keep == "":
		return errors.New("--few-changes needs --keep BLOCK: few changes of what?")
	case c.Next != "" && c.Keep != "":
		return errors.New("--next and --keep name the block before twice; give --keep to change a block, --next to follow it")
	case c.All != "" && (c.Out != "" || c.Keep != "" || c.Next != "" || c.JSON || c.Prices):
		return errors.New("--all writes a file for every client and says little; leave out --out, --keep, --next, --json and --prices, or design one client at a time")
	case c.Draws < 0 || c.Draws > maxDraws:
		return fmt.Errorf("--draws %d: write 0 to %d", c.Draws, maxDraws)
	case c.Language != "" && c.Language != form.English && c.Language != form.German:
		return errLanguage
	}
	return nil
}

// one proposes a block for one client.
func (c *designCmd) one(a *app) error {
	w, err := c.wish(a)
	if err != nil {
		return err
	}
	p, err := design.Propose(w)
	return c.answer(a, p, nil, err)
}

// answer writes and prints what was proposed, or says why nothing can be.
func (c *designCmd) answer(a *app, p *design.Proposal, nested []design.Nested, err error) error {
	var none *design.NoDesign
	if errors.As(err, &none) {
		fmt.Fprint(a.out, sheet.Wrap(none.Why, sheet.Width, 0))
		return errNo
	}
	if err != nil {
		return err
	}
	page := p.Page()
	if nested != nil {
		page.Group = nested
	}
	if c.Prices {
		page.Rules = design.Prices(p.Problem, p.Answer)
	}
	if err := c.write(a, p); err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(a, page)
	}
	sheet.Plain{Out: a.out, Library: a.library, Language: c.Language}.Design(page, p.Block)
	return nil
}

// wish reads what the block is proposed from.
func (c *designCmd) wish(a *app) (design.Wish, error) {
	who, err := a.client(c.Client)
	if err != nil {
		return design.Wish{}, err
	}
	c.Language = cmp.Or(c.Language, who.Language)
	if err := c.monday(a); err != nil {
		return design.Wish{}, err
	}
	w := design.Wish{Client: who, Library: a.library, Shares: a.shares(who, &plan.Block{Start: c.Start}), Start: c.Start, Moves: c.moves(), Seed: c.Seed, Draws: c.Draws, Few: c.FewChanges,
		Caps: evidence.CapsOf(evidence.Input{Client: who, Library: a.library, Day: c.Start, Language: c.Language})}
	if before := cmp.Or(c.Keep, c.Next); before != "" {
		if w.Keep, err = a.block(before); err != nil {
			return w, err
		}
		w.Next = c.Next != ""
	}
	return w, nil
}

// moves is how long the effort asked for searches.
func (c *designCmd) moves() int {
	return map[string]int{"quick": design.QuickMoves, "normal": design.NormalMoves, "thorough": design.ThoroughMoves}[c.Effort]
}

// monday takes the next Monday where no start is said, and refuses other days.
func (c *designCmd) monday(a *app) error {
	if c.Start.IsZero() {
		for c.Start = a.today.Plus(1); c.Start.Time().Weekday() != time.Monday; {
			c.Start = c.Start.Plus(1)
		}
	}
	if c.Start.Time().Weekday() != time.Monday {
		return fmt.Errorf("--start %s is not a Monday; a block starts on one", c.Start)
	}
	return nil
}

// group proposes a group programme.
func (c *designCmd) group(a *app) error {
	g, err := a.group(c.Group)
	if err != nil {
		return err
	}
	c.Language = cmp.Or(c.Language, g.Language)
	if c.Minutes < 20 || c.Minutes > 240 {
		return fmt.Errorf("--minutes %d: write 20 to 240", c.Minutes)
	}
	if err := c.monday(a); err != nil {
		return err
	}
	w := design.GroupWish{Group: g, Library: a.library, Start: c.Start, Minutes: c.Minutes, Any: c.Any, Moves: c.moves(), Seed: c.Seed, Draws: c.Draws}
	if before := cmp.Or(c.Keep, c.Next); before != "" {
		if w.Keep, err = a.block(before); err != nil {
			return err
		}
		w.Next = c.Next != ""
	}
	p, nested, err := design.ProposeGroup(w)
	return c.answer(a, p, nested, err)
}

// all proposes a block for every client of a folder that has none proposed yet, on
// as many workers as there are processors. Clients come out in the order of their
// files, whoever is ready first; those that cannot be designed for are named.
func (c *designCmd) all(a *app) error {
	files, err := filepath.Glob(filepath.Join(c.All, "*.yaml"))
	if err != nil {
		return err
	}
	var clients []string
	for _, f := range files {
		src, err := form.ReadFile(a.files, f)
		if err != nil {
			return err
		}
		if d, err := form.Open(f, src); err == nil && kindOf(d) == "client" && slices.Equal(markedAs(d), []string{"client"}) {
			clients = append(clients, f)
		}
	}
	if len(clients) == 0 {
		return fmt.Errorf("%s: there is no client file in this folder", c.All)
	}
	said := make([]chan string, len(clients))
	next := make(chan int, len(clients))
	for i := range clients {
		said[i] = make(chan string, 1)
		next <- i
	}
	close(next)
	for range runtime.GOMAXPROCS(0) {
		go func() {
			for i := range next {
				said[i] <- c.oneOfAll(a, clients[i])
			}
		}()
	}
	refused := false
	for i, f := range clients {
		a.progress(i, len(clients))
		text := <-said[i]
		refused = refused || text != ""
		if text == "" {
			text = "ok"
		}
		if a.terminal {
			fmt.Fprint(a.err, "\r\x1b[K") // the bar gives way to the line
		}
		fmt.Fprintf(a.out, "%d/%d %s: %s\n", i+1, len(clients), filepath.Base(f), text)
	}
	a.progress(len(clients), len(clients))
	if refused {
		return errNo
	}
	return nil
}

// progressWidth is how many characters a full bar has.
const progressWidth = 40

// progress shows on a terminal how much of a long job is done, on a line of its own
// that the next one overwrites.
func (a *app) progress(done, all int) {
	if !a.terminal {
		return
	}
	full := progressWidth * done / max(all, 1)
	fmt.Fprintf(a.err, "\r[%s%s] %d/%d", strings.Repeat("#", full), strings.Repeat(".", progressWidth-full), done, all)
	if done == all {
		fmt.Fprintln(a.err)
	}
}

// oneOfAll designs for one client of a folder and says why not, or nothing. What is
// there already stays, so that a run that was broken off is resumed.
func (c *designCmd) oneOfAll(a *app, file string) string {
	own := *c
	own.Client, own.Language = file, ""
	own.Out = strings.TrimSuffix(file, filepath.Ext(file)) + "-proposed.yaml"
	if _, err := os.Stat(own.Out); err == nil {
		return ""
	}
	w, err := own.wish(a)
	if err != nil {
		return err.Error()
	}
	p, err := design.Propose(w)
	if err != nil {
		return err.Error()
	}
	if err := own.write(a, p); err != nil {
		return err.Error()
	}
	return ""
}

// write writes the block, and beside it what explains it.
func (c *designCmd) write(a *app, p *design.Proposal) error {
	if c.Out == "" {
		return nil
	}
	of := c.Client + c.Group // one of them is said
	for _, other := range []string{of, c.Keep, c.Next} {
		if other != "" && sameFile(c.Out, other) {
			return fmt.Errorf("--out names %s itself; write the block to another file", other)
		}
	}
	from, err1 := filepath.Abs(filepath.Dir(c.Out))
	to, err2 := filepath.Abs(of)
	relative, err := filepath.Rel(from, to)
	if err := errors.Join(err, err1, err2); err != nil {
		return fmt.Errorf("%s and %s: the one cannot be named from the other; write both into one folder", c.Out, of)
	}
	p.Block.Client, p.Block.Group = filepath.ToSlash(relative), ""
	if c.Group != "" {
		p.Block.Client, p.Block.Group = "", p.Block.Client
	}
	p.Block.Name = form.Text{En: "Proposed block", De: "Vorgeschlagener Block"}.In(c.Language)
	p.Block.MadeWith = plan.MadeWith{Program: programVersion}
	if err := form.WriteFile(recordFile(c.Out), p.Record().Bytes()); err != nil {
		return err
	}
	return form.WriteFile(c.Out, form.Write(p.Block))
}

// recordFile names what stands beside a proposed block.
func recordFile(block string) string {
	return strings.TrimSuffix(block, filepath.Ext(block)) + ".design.json"
}

// whyCmd is corbel why.
type whyCmd struct {
	Block    string        `arg:"" help:"Block file that corbel design wrote."`
	Exercise string        `arg:"" optional:"" help:"Only this exercise, or slot."`
	Prices   bool          `help:"Ask what lifting each rule would bring."`
	Member   string        `help:"For a group's block: what this member may not do, and what stands there instead." placeholder:"FILE"`
	Place    string        `help:"For a group's block: what cannot be done at this place of the group, and what stands there instead." placeholder:"ID"`
	Out      string        `short:"o" help:"With --member or --place: file to write the block so exchanged to." placeholder:"BLOCK"`
	Language form.Language `help:"en or de; the client's language if left out."`
	JSON     bool          `help:"Print JSON (docs/json/design.md, explanations, rules and swaps)."`
}

// Run explains a proposed block.
func (c *whyCmd) Run(a *app) error {
	b, err := a.block(c.Block)
	if err != nil {
		return err
	}
	who, err := a.owner(c.Block, b)
	if err != nil {
		return err
	}
	if c.Language == "" {
		c.Language = who.Language
	}
	if c.Language != form.English && c.Language != form.German {
		return errLanguage
	}
	name := recordFile(c.Block)
	src, err := form.ReadFile(a.files, name)
	if err != nil {
		return fmt.Errorf("%w (corbel design -o writes it beside the block; a block written by hand has none)", err)
	}
	r, err := design.ReadRecord(name, src)
	if err != nil {
		return err
	}
	if r.Block != b.ID {
		return fmt.Errorf("%s explains the block %s, and %s is %s; design it anew", name, r.Block, c.Block, b.ID)
	}
	if c.Member != "" || c.Place != "" {
		return c.overlay(a, r, b, who)
	}
	if c.Out != "" {
		return errors.New("--out goes with --member or --place: without them nothing is exchanged")
	}
	list := r.Explain(b)
	if c.Exercise != "" {
		id, near := a.library.Name(c.Exercise)
		list = slices.DeleteFunc(list, func(e design.Explanation) bool { return e.Exercise != id && e.Slot != c.Exercise })
		if len(list) == 0 {
			return fmt.Errorf("%q is neither a proposed exercise nor a slot of %s (near: %s)", c.Exercise, c.Block, strings.Join(near, ", "))
		}
	}
	prices := []design.Price{}
	if c.Prices {
		prices = design.Prices(r.Problem, r.Answer)
	}
	if c.JSON {
		return writeJSON(a, struct {
			Form         int                  `json:"form"`
			Explanations []design.Explanation `json:"explanations"`
			Rules        []design.Price       `json:"rules"`
		}{design.Version, list, prices})
	}
	out := sheet.Plain{Out: a.out, Library: a.library, Language: c.Language}
	out.Why(list, b)
	if c.Prices {
		out.Prices(prices)
	}
	return nil
}

// overlay says what a member may not do, or a place has not the equipment for, and
// what stands there instead.
func (c *whyCmd) overlay(a *app, r design.Record, b *plan.Block, who *client.Client) error {
	if c.Exercise != "" || c.Prices {
		return errors.New("--member and --place go with the whole block; leave out EXERCISE and --prices")
	}
	if b.Group == "" {
		return fmt.Errorf("%s is the block of one client; --member and --place go with a group's", c.Block)
	}
	member := who
	place := form.ID(c.Place)
	if c.Member != "" {
		var err error
		if member, err = a.member(c.Member); err != nil {
			return err
		}
		if place == "" {
			if place, err = a.placeOf(c.Member); err != nil {
				return err
			}
		}
	}
	var at *client.Place
	if place != "" {
		if at = member.PlaceByID(place); at == nil {
			return fmt.Errorf("the group has no place %q; write one of those under places of the group file", place)
		}
	}
	swaps, problems := r.Overlay(b, member, at, a.library)
	if c.Member == "" { // nobody's answers
		swaps, problems = slices.DeleteFunc(swaps, func(s design.Swap) bool { return !s.NotThere }), nil
	}
	if err := c.exchanged(a, b, swaps); err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(a, struct {
			Form  int           `json:"form"`
			Swaps []design.Swap `json:"swaps"`
		}{design.Version, swaps})
	}
	out := sheet.Plain{Out: a.out, Library: a.library, Language: c.Language}
	out.Swaps(swaps, b)
	for _, p := range problems {
		if p.At.Slot == "" && p.Blocks() { // no choice of exercises mends it
			fmt.Fprint(a.out, sheet.Wrap(p.Text, sheet.Width, 0))
			return errNo
		}
	}
	return nil
}

// exchanged writes the block with the swaps, where a file is named. What nothing can
// stand for is taken off.
func (c *whyCmd) exchanged(a *app, b *plan.Block, swaps []design.Swap) error {
	if c.Out == "" {
		return nil
	}
	for _, other := range []string{c.Block, c.Member} {
		if other != "" && sameFile(c.Out, other) {
			return fmt.Errorf("--out names %s itself; write the block to another file", other)
		}
	}
	if filepath.Dir(c.Out) != filepath.Dir(c.Block) {
		return fmt.Errorf("--out %s: write the block beside %s, so that it still finds its group", c.Out, c.Block)
	}
	own := b.Clone()
	for _, s := range swaps {
		if s.To != "" {
			own.Swap(form.ID(s.Slot), s.To)
			continue
		}
		for i := range own.Sessions {
			own.Sessions[i].Slots = slices.DeleteFunc(own.Sessions[i].Slots, func(x plan.Slot) bool { return string(x.ID) == s.Slot })
		}
	}
	if len(swaps) > 0 {
		own.Revision++
	}
	return form.WriteFile(c.Out, form.Write(own))
}

// compareCmd is corbel compare.
type compareCmd struct {
	A        string        `arg:"" help:"Block file."`
	B        string        `arg:"" help:"Block file, for the same client."`
	Language form.Language `help:"en or de." default:"en" enum:"en,de"`
	JSON     bool          `help:"Print JSON (docs/json/compare.md)."`
}

// Run puts two blocks side by side.
func (c *compareCmd) Run(a *app) error {
	var weeks []*session.Week
	var ids []string
	var exercises [][]string
	for _, file := range []string{c.A, c.B} {
		b, err := a.block(file)
		if err != nil {
			return err
		}
		who, err := a.trainee(file, b, "")
		if err != nil {
			return err
		}
		weeks = append(weeks, session.NewAthlete(who, a.library, nil, b.Start).Week(b, 1, session.Options{}))
		ids = append(ids, string(b.ID))
		exercises = append(exercises, exercisesOf(b))
	}
	out := sheet.Compared{Form: design.Version, A: ids[0], B: ids[1], OnlyA: []string{}, OnlyB: []string{}, Both: []string{}, Muscles: []sheet.ComparedRow{}}
	for _, e := range exercises[0] {
		if slices.Contains(exercises[1], e) {
			out.Both = append(out.Both, e)
		} else {
			out.OnlyA = append(out.OnlyA, e)
		}
	}
	for _, e := range exercises[1] {
		if !slices.Contains(exercises[0], e) {
			out.OnlyB = append(out.OnlyB, e)
		}
	}
	for _, id := range anatomy.Muscle("").Values() {
		for _, side := range []anatomy.Side{anatomy.Left, anatomy.Right} {
			x, y := weeks[0].Of(anatomy.Muscle(id), side).Sum(), weeks[1].Of(anatomy.Muscle(id), side).Sum()
			if x > 0 || y > 0 {
				out.Muscles = append(out.Muscles, sheet.ComparedRow{Muscle: id, Side: string(side), A: design.Tenth(x), B: design.Tenth(y)})
			}
		}
	}
	if c.JSON {
		return writeJSON(a, out)
	}
	sheet.Plain{Out: a.out, Library: a.library, Language: c.Language}.Compared(out)
	return nil
}

// exercisesOf lists the exercises of a block, each once, by id.
func exercisesOf(b *plan.Block) []string {
	var out []string
	for i := range b.Sessions {
		for _, s := range b.Sessions[i].Slots {
			out = append(out, s.Exercise)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}
