package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"corbel/check"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/sheet"
	"corbel/unit"
)

// changeCmd is corbel change.
type changeCmd struct {
	Block    string               `arg:"" help:"Block file."`
	Pause    string               `help:"No training on these days, such as 2026-12-03..2026-12-09 or 2026-12-03..09." placeholder:"FROM..TO"`
	Place    string               `help:"Train in another place of the client, by id or name." placeholder:"PLACE"`
	Pain     painFlag             `help:"Pain and its level from 0 to 10, such as left-knee 4." placeholder:"PLACE LEVEL"`
	Skip     string               `help:"Leave a session out, by id or name." placeholder:"SESSION"`
	Since    form.Date            `help:"Since when it hurts, with --pain; today if left out." placeholder:"DATE"`
	Worse    bool                 `help:"With --pain: it was worse the next morning."`
	With     []client.PainFeature `help:"With --pain, what goes with it: sharp, spreading, swelling, giving way." placeholder:"WHAT"`
	On       form.Date            `help:"First day the change holds; today if left out. With --skip, the day of the session." placeholder:"DATE"`
	Until    form.Date            `help:"Last day the change holds; the block's last if left out. With --skip, that one session." placeholder:"DATE"`
	Why      string               `required:"" help:"The reason; it stands in the block and on the sheet." placeholder:"TEXT"`
	By       string               `help:"Who makes the change." default:"coach" placeholder:"NAME"`
	Practice string               `help:"Practice file, for its rule of return after a pause." placeholder:"FILE"`
	Member   string               `help:"Member file, to check a block of a group." placeholder:"FILE"`
	Out      string               `short:"o" required:"" help:"Block file to write." placeholder:"NEW"`
	Force    bool                 `help:"Overwrite a file that is there, the block itself too."`
	Language form.Language        `help:"en or de; the client's language if left out."`
}

// A change at work: what is read, what comes out, and what to say.
type change struct {
	*changeCmd
	app      *app
	block    *plan.Block
	who      *client.Client // the client, or the group as one
	practice *client.Practice
	after    *plan.Block // the block itself where nothing was laid
	notes    []string    // what to know and do
	lang     form.Language
}

// Run lays a change over a block and writes the result to a new file.
func (c *changeCmd) Run(a *app) error {
	x, err := c.read(a)
	if err != nil {
		return err
	}
	if err := x.lay(); err != nil {
		return err
	}
	if x.after == x.block {
		x.sayNotes()
		x.say(x.pick("\n%s is not written: nothing changes in the block.", "\n%s wird nicht geschrieben: Am Block ändert sich nichts."), c.Out)
		return nil
	}
	if err := x.write(); err != nil {
		return err
	}
	x.say(x.pick("%s written: %s, revision %d", "%s geschrieben: %s, Fassung %d"), c.Out, x.after.Name, x.after.Revision)
	x.sayChanges()
	x.sayNotes()
	x.sayLeft()
	return x.recheck()
}

// read reads the files and refuses flags that do not go together.
func (c *changeCmd) read(a *app) (*change, error) {
	if c.Language != "" && c.Language != form.English && c.Language != form.German {
		return nil, errLanguage
	}
	if err := c.oneChange(); err != nil {
		return nil, err
	}
	b, err := a.block(c.Block)
	if err != nil {
		return nil, err
	}
	x := &change{changeCmd: c, app: a, block: b, after: b, lang: c.Language}
	if x.who, err = a.owner(c.Block, b); err != nil {
		return nil, err
	}
	if x.lang == "" {
		x.lang = x.who.Language
	}
	if c.Practice != "" {
		src, err := form.ReadFile(a.files, c.Practice)
		if err != nil {
			return nil, err
		}
		if x.practice, err = client.ReadPractice(c.Practice, src, a.library.Name); err != nil {
			return nil, err
		}
	}
	if _, err := os.Stat(c.Out); err == nil && !c.Force {
		if sameFile(c.Out, c.Block) {
			return nil, errors.New("--out names the block itself; write the changed block to another file, or --force to overwrite it")
		}
		return nil, fmt.Errorf("%s exists; choose another name, or --force to overwrite it", c.Out)
	}
	return x, nil
}

// oneChange holds that one change is asked for, with the flags that go with it.
func (c *changeCmd) oneChange() error {
	asked := 0
	for _, is := range []bool{c.Pause != "", c.Place != "", c.Pain.given, c.Skip != ""} {
		if is {
			asked++
		}
	}
	switch {
	case asked == 0:
		return errors.New("no change is asked for; write one of --pause FROM..TO, --place PLACE, --pain PLACE LEVEL, --skip SESSION")
	case asked > 1:
		return errors.New("more than one change is asked for; lay one, and the next over the file that comes out")
	case strings.TrimSpace(c.Why) == "":
		return errors.New("--why is empty; write the reason in a few words")
	case strings.TrimSpace(c.By) == "":
		return errors.New("--by is empty; write who makes the change")
	case c.Pause != "" && !(c.On.IsZero() && c.Until.IsZero()):
		return errors.New("--pause names its own days; leave --on and --until out")
	case !c.Pain.given && (!c.Since.IsZero() || c.Worse || len(c.With) > 0):
		return errors.New("--since, --worse and --with go with --pain")
	}
	return nil
}

// lay lays the change that is asked for.
func (x *change) lay() error {
	switch {
	case x.Pause != "":
		return x.pause()
	case x.Place != "":
		return x.place()
	case x.Pain.given:
		return x.pain()
	}
	return x.skip()
}

// overlay returns the days of the change: from --on, else from today, but not
// before the block.
func (x *change) overlay() plan.Overlay {
	o := plan.Overlay{On: x.On, Until: x.Until, By: x.By, Why: x.Why}
	if o.On.IsZero() {
		o.On = x.app.today
		if o.On.Before(x.block.Start) {
			o.On = x.block.Start
		}
	}
	return o
}

// pause leaves the days out and applies the rule of return.
func (x *change) pause() (err error) {
	from, to, err := pauseDays(x.Pause)
	if err != nil {
		return err
	}
	days := to.Days(from) + 1
	rule := client.DefaultReturn
	if x.practice != nil && x.practice.Return != nil {
		rule = *x.practice.Return
	}
	o := plan.Overlay{On: from, Until: to, By: x.By, Why: x.Why}
	lighter := ""
	switch plan.ComebackAfter(days, rule) {
	case plan.AsWritten:
		x.note(x.pick("%d days of pause, under %d: go on as written.", "%d Tage Pause, unter %d: weiter wie geschrieben."), days, rule.AsWritten)
	case plan.OneLighter:
		lighter = fmt.Sprintf(x.pick("back after %d days of pause: one step lighter", "zurück nach %d Tagen Pause: eine Stufe leichter"), days)
		x.note(x.pick("%d days of pause, %d to %d: the sessions of the first 7 days back are one step lighter: loads 5 points of the 1RM or 5 %% less, one set fewer where there are three or more (our judgement).",
			"%d Tage Pause, %d bis %d: die Einheiten der ersten 7 Tage danach sind eine Stufe leichter: Lasten um 5 Punkte des 1RM oder 5 %% kleiner, ein Satz weniger, wo es drei oder mehr sind (unsere Einschätzung)."), days, rule.AsWritten, rule.Lighter)
		if len(x.block.Between(to.Plus(1), to.Plus(7))) == 0 {
			x.note("%s", x.pick("None of them falls into this block: start the next one a step lighter.", "Keine davon fällt in diesen Block: Beginnen Sie den nächsten eine Stufe leichter."))
		}
	case plan.Retest:
		o.Why += fmt.Sprintf(x.pick(" (%d days of pause: test the lifts again)", " (%d Tage Pause: Bestwerte neu testen)"), days)
		x.note(x.pick("%d days of pause, over %d: test the lifts again before going on. No dose was changed; the loads rest on what was lifted before the pause.",
			"%d Tage Pause, über %d: Testen Sie die Bestwerte neu, bevor es weitergeht. Keine Dosis wurde geändert; die Lasten beruhen auf der Zeit vor der Pause."), days, rule.Lighter)
	}
	if x.after, err = x.block.Pause(o, lighter); err != nil {
		return fmt.Errorf("--pause %s: %w", x.Pause, err)
	}
	session.FitChanges(x.after, x.added(), x.who, x.app.library)
	return nil
}

// pauseDays reads 2026-12-03..2026-12-09 and 2026-12-03..09.
func pauseDays(text string) (from, to form.Date, err error) {
	first, last, ok := strings.Cut(text, "..")
	first, last = strings.TrimSpace(first), strings.TrimSpace(last)
	wrong := fmt.Errorf("--pause %s: write the first and the last day, such as 2026-12-03..2026-12-09 or 2026-12-03..09", text)
	if from, err = form.ParseDate(first); !ok || err != nil {
		return from, to, wrong
	}
	if len(last) <= 2 { // a day of the same month
		n, err := strconv.Atoi(last)
		if err != nil {
			return from, to, wrong
		}
		last = from.String()[:len("2026-12-")] + fmt.Sprintf("%02d", n)
	}
	if to, err = form.ParseDate(last); err != nil {
		return from, to, wrong
	}
	return from, to, nil
}

// place moves sessions to another place.
func (x *change) place() (err error) {
	var names []string
	for _, p := range x.who.Places {
		if string(p.ID) == x.Place || strings.EqualFold(p.Name, x.Place) {
			if x.after, err = x.block.MoveTo(p.ID, x.overlay()); err != nil {
				return fmt.Errorf("--place %s: %w", x.Place, err)
			}
			return nil
		}
		names = append(names, fmt.Sprintf("%s (%s)", p.ID, p.Name))
	}
	if len(names) == 0 {
		return fmt.Errorf("--place %s: no place is on record for %s; write it into the file first", x.Place, x.who.Name)
	}
	return fmt.Errorf("--place %s: %s has no such place; there are %s", x.Place, x.who.Name, strings.Join(names, ", "))
}

// skip leaves a session out: on the day named, else the next time it comes.
func (x *change) skip() (err error) {
	id := form.ID(x.Skip)
	for _, s := range x.block.Sessions {
		if strings.EqualFold(s.Name, x.Skip) {
			id = s.ID
		}
	}
	o := x.overlay()
	if x.On.IsZero() && x.Until.IsZero() {
		for _, l := range x.block.Between(o.On, x.block.End()) {
			if l.Session.ID == id {
				o.On = l.On
				break
			}
		}
	}
	if x.after, err = x.block.SkipSession(id, o); err != nil {
		return fmt.Errorf("--skip %s: %w", x.Skip, err)
	}
	return nil
}

// write writes the new block with the comment lines of the old one. A client file
// named relative to the old folder is named relative to the new one.
func (x *change) write() error {
	src, err := form.ReadFile(x.app.files, x.Block)
	if err != nil {
		return err
	}
	b := x.after.Clone()
	b.Client, b.Group = moved(b.Client, x.Block, x.Out), moved(b.Group, x.Block, x.Out)
	out := append(headComments(src), form.Write(b)...)
	if _, err := plan.ReadBlock(x.Out, out, x.app.library.Name); err != nil {
		return fmt.Errorf("the changed block does not read back and is not written: %w", err)
	}
	return form.WriteFile(x.Out, out)
}

// moved renames a file named relative to one file so that it is named relative to
// another.
func moved(name, from, to string) string {
	old, err1 := filepath.Abs(filepath.Dir(from))
	dir, err2 := filepath.Abs(filepath.Dir(to))
	if name == "" || err1 != nil || err2 != nil || old == dir {
		return name
	}
	rel, err := filepath.Rel(dir, filepath.Join(old, filepath.FromSlash(name)))
	if err != nil {
		return name
	}
	return filepath.ToSlash(rel)
}

// headComments returns the comment lines before the first field of a file, with
// the empty lines between them.
func headComments(src []byte) []byte {
	var out, gap []byte
	for line := range strings.Lines(string(src)) {
		switch text := strings.TrimSpace(line); {
		case strings.HasPrefix(text, "#"):
			out = append(append(out, gap...), line...)
			gap = nil
		case text == "" || text == "---" || strings.HasPrefix(text, "%"):
			if text == "" {
				gap = append(gap, line...)
			}
		default:
			return out
		}
	}
	return out
}

func (x *change) pick(en, de string) string { return form.Text{En: en, De: de}.In(x.lang) }

// say prints a line, wrapped.
func (x *change) say(format string, args ...any) { x.indented(0, format, args...) }

func (x *change) indented(hang int, format string, args ...any) {
	fmt.Fprint(x.app.out, sheet.Wrap(fmt.Sprintf(format, args...), sheet.Width, hang))
}

// note adds something to know.
func (x *change) note(format string, args ...any) {
	x.notes = append(x.notes, fmt.Sprintf(format, args...))
}

// number writes a number as the language does.
func (x *change) number(n float64) string {
	s := unit.Figures(n, 1)
	if x.lang == form.German {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

// head prints a heading.
func (x *change) head(en, de string) {
	text := x.pick(en, de)
	x.say("\n%s\n%s", text, strings.Repeat("-", len([]rune(text))))
}

// sayNotes prints what to know, and what to record of a pain.
func (x *change) sayNotes() {
	for _, n := range x.notes {
		x.say("\n%s", n)
	}
	if !x.Pain.given {
		return
	}
	p, _, err := x.painReport()
	if err != nil {
		return // refused before
	}
	lines := string(form.Write(&struct {
		Pain []client.Pain `form:"pain"`
	}{[]client.Pain{p}}))
	if len(x.who.Pain) > 0 {
		_, lines, _ = strings.Cut(lines, "\n")
		x.say(x.pick("\nRecord it in the client file too. Paste under pain: in %s:", "\nHalten Sie es auch in der Klientendatei fest. Unter pain: in %s einfügen:"), beside(x.Block, x.block.Client))
	} else {
		x.say(x.pick("\nRecord it in the client file too. Paste into %s:", "\nHalten Sie es auch in der Klientendatei fest. In %s einfügen:"), beside(x.Block, x.block.Client))
	}
	fmt.Fprintf(x.app.out, "\n%s\n", lines)
	x.say("%s", client.Sentence("sheet-caution", x.lang))
}

// added lists the changes that were laid now.
func (x *change) added() []plan.Change { return x.after.Changes[len(x.block.Changes):] }

// sayChanges prints each change, those with the same reason under it.
func (x *change) sayChanges() {
	x.head("Changes", "Änderungen")
	why := ""
	for _, c := range x.added() {
		if c.Why != why {
			x.say("%s (%s)", c.Why, c.By)
			why = c.Why
		}
		x.indented(6, "  %-4s%s: %s", c.ID, x.days(c), x.what(c))
	}
}

// days says on which days a change holds.
func (x *change) days(c plan.Change) string {
	switch {
	case c.Until.IsZero():
		return fmt.Sprintf(x.pick("from %s on", "ab %s"), x.day(c.On))
	case c.Until == c.On:
		return x.day(c.On)
	}
	return fmt.Sprintf(x.pick("%s to %s", "%s bis %s"), x.day(c.On), x.day(c.Until))
}

// day writes a day with its name.
func (x *change) day(d form.Date) string {
	days := client.Weekday("").Values()
	return client.Weekday(days[(int(d.Time().Weekday())+6)%7]).In(x.lang) + " " + d.String()
}

// what says what a change does.
func (x *change) what(c plan.Change) string {
	where := ""
	if _, slot := x.block.SlotByID(c.Slot); slot != nil {
		where = x.exercise(slot.Exercise) + ": "
	}
	for _, s := range x.block.Sessions {
		if s.ID == c.Session {
			where = s.Name + ": "
		}
	}
	switch c.Do {
	case "place":
		return where + x.pick("in ", "in: ") + x.placeName(c.Place)
	case "dose":
		return where + plan.Phrase{Language: x.lang, Name: x.exercise}.Clauses(c.Dose)[0]
	case "pause":
		return x.pick("no training", "kein Training")
	}
	return where + x.pick("left out", "ausgelassen")
}

// exercise returns the name of an exercise.
func (x *change) exercise(id string) string {
	if e := x.app.library.ByID(id); e != nil {
		return e.Name.In(x.lang)
	}
	return id
}

func (x *change) placeName(id form.ID) string {
	if p := x.who.PlaceByID(id); p != nil {
		return p.Name
	}
	return string(id)
}

// sayLeft prints week by week what is left to do from the first day of the
// change on.
func (x *change) sayLeft() {
	x.head("Left to do", "Was noch ansteht")
	first := x.added()[0].On
	for _, c := range x.added() {
		if c.On.Before(first) {
			first = c.On
		}
	}
	for week := first.Days(x.block.Start)/7 + 1; week <= x.after.Weeks; week++ {
		monday := x.after.Start.Plus(7 * (week - 1))
		laid := x.after.Between(monday, monday.Plus(6))
		laid = slices.DeleteFunc(laid, func(l plan.Laid) bool { return l.On.Before(first) })
		if len(laid) == 0 {
			x.say(x.pick("week %d: nothing more", "Woche %d: nichts mehr"), week)
			continue
		}
		x.say(x.pick("week %d", "Woche %d"), week)
		for _, l := range laid {
			x.indented(4, "  %s", x.visit(l))
		}
	}
}

// visit says how much there is to do in a session, and where.
func (x *change) visit(l plan.Laid) string {
	sets := 0
	for _, s := range l.Slots {
		sets += s.Dose.Count()
	}
	text := fmt.Sprintf(x.pick("%s, %s: %d exercises, %d sets", "%s, %s: %d Übungen, %d Sätze"), x.day(l.On), l.Session.Name, len(l.Slots), sets)
	if len(l.Slots) == 1 {
		text = fmt.Sprintf(x.pick("%s, %s: 1 exercise, %d sets", "%s, %s: 1 Übung, %d Sätze"), x.day(l.On), l.Session.Name, sets)
	}
	text += ", " + x.placeName(l.Place)
	for _, c := range l.Changes {
		if slices.ContainsFunc(x.added(), func(n plan.Change) bool { return n.ID == c.ID }) {
			return text + x.pick(" (changed)", " (geändert)")
		}
	}
	return text
}

// recheck checks the changed block and prints how many problems stand.
func (x *change) recheck() error {
	if x.after.Client == "" && x.Member == "" {
		x.say("\n%s", x.pick("Not checked: the block is for a group; name a member with --member FILE.", "Nicht geprüft: Der Block ist für eine Gruppe; nennen Sie ein Mitglied mit --member FILE."))
		return nil
	}
	who, err := x.app.trainee(x.Block, x.after, x.Member)
	if err != nil {
		return err
	}
	said := x.pick("\nChecked again: %d to stop for, %d to settle, %d to note. corbel check %s shows them.", "\nNeu geprüft: %d Halte, %d zu klären, %d Hinweise. corbel check %s zeigt sie.")
	if p, _, err := x.painReport(); x.Pain.given && err == nil {
		hurt := *who
		hurt.Pain = append(slices.Clone(who.Pain), p)
		who = &hurt
		said = x.pick("\nChecked again with this pain on record: %d to stop for, %d to settle, %d to note. corbel check %s shows them once it stands in the client file.",
			"\nNeu geprüft, mit diesem Schmerz: %d Halte, %d zu klären, %d Hinweise. corbel check %s zeigt sie, sobald er in der Klientendatei steht.")
	}
	r := check.Check(check.Input{Client: who, Block: x.after, Library: x.app.library, Shares: x.app.shares(who, x.after), Practice: x.practice, Language: x.lang, Draws: demoDraws, Seed: 1})
	n := map[check.Severity]int{}
	for _, p := range r.Problems {
		if p.Kept == "" {
			n[p.Severity]++
		}
	}
	x.say(said, n[check.Stop], n[check.Settle], n[check.Note], x.Out)
	return nil
}
