package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/check"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// Places of the picture of a session, in pixels of a drawing 1000 wide: arcs above,
// tiles, what earlier work costs, and the lanes of the muscles below.
const (
	boardLeft, boardRight = 8.0, 992.0
	arcTop, arcStep       = 16.0, 22.0
	tileHeight            = 168.0
	tileGap               = 4.0
	costHeight            = 34.0
	laneHeight            = 56.0
	laneTop               = 18.0 // above the line of 100 %
	rulerHeight           = 22.0
	lanesShown            = 6
	laneFloor             = 0.4 // capacity at the bottom of a lane
)

// A boardPicture is a session laid out by minutes.
type boardPicture struct {
	Label        string
	Height, Tops float64 // of the drawing; upper edge of the tiles
	Floor        float64 // lower edge of the tiles
	CostY        float64
	RulerY       float64
	Ticks        []tick
	Arcs         []arc
	Tiles        []tile
	Lanes        []lane
	More         int // lanes not shown
	End          *tick
}

// A tick is a place on the axis with its minutes.
type tick struct {
	X    float64
	Text string
}

// An arc joins an exercise to a later one it does something for.
type arc struct {
	Path, Head, Text, Class string
	TextX, TextY            float64
}

// A tile is an exercise as wide as the time it takes.
type tile struct {
	Slot, Name, Exercise, Stage, Class, Dose, Reasons string
	Loose, Lock                                       bool
	X, Width, Inner, Mid                              float64
	Cost                                              string // repetitions a set that earlier work costs
	Costly                                            bool
}

// A lane is what a muscle has left through the session.
type lane struct {
	Name, Line, Area, Last    string
	TextY, LastX, LastY, Base float64
	Ends                      []tick
}

// picture lays out a board.
func (s *server) picture(v *visit, b *practice.Board, all bool) *boardPicture {
	found := b.Found
	if found == nil || len(found.Slots) == 0 {
		return nil
	}
	span := max(found.Minutes, float64(b.Session.Minutes))
	x := func(minute float64) float64 { return boardLeft + minute/span*(boardRight-boardLeft) }
	p := &boardPicture{Label: v.say("The session by minutes: exercises, what one does for another, and what each muscle has left", "Die Einheit nach Minuten: Übungen, was eine für die andere tut und was jeder Muskel übrig hat")}
	p.Tops = arcTop + arcStep*float64(arcLevels(found))
	p.Floor = p.Tops + tileHeight
	p.CostY = p.Floor + 22
	s.tiles(v, b, p, x)
	s.arcs(v, found, p)
	p.lanes(v, found, x, all)
	p.RulerY = p.Floor + costHeight + laneHeight*float64(len(p.Lanes)) + 14
	p.Height = p.RulerY + rulerHeight
	for m := 0.0; m <= span; m += 10 {
		p.Ticks = append(p.Ticks, tick{x(m), strconv.FormatFloat(m, 'f', 0, 64) + " min"})
	}
	return p
}

// tiles places the exercises.
func (s *server) tiles(v *visit, b *practice.Board, p *boardPicture, x func(float64) float64) {
	lost := map[string]float64{}
	for _, slot := range b.Found.Slots {
		for _, c := range slot.Costs {
			lost[c.To] += c.Per
		}
	}
	for i, slot := range b.Found.Slots {
		end := slot.End
		if i+1 < len(b.Found.Slots) && b.Found.Slots[i+1].Start > slot.Start {
			end = b.Found.Slots[i+1].Start // setting up the next and resting belong to the time it takes
		}
		t := tile{Slot: slot.ID, Exercise: slot.Exercise, Name: s.practice.ExerciseName(slot.Exercise, v.language()), Class: slot.Stage, Stage: exercise.Stage(slot.Stage).In(v.language()),
			X: x(slot.Start), Reasons: v.reasonWords(slot.Reasons), Loose: len(slot.Reasons) == 0}
		t.Width = max(x(end)-t.X-tileGap, 12)
		t.Inner, t.Mid = max(t.Width-12, 4), t.X+t.Width/2
		if _, written := b.Case.Block.SlotByID(form.ID(slot.ID)); written != nil {
			t.Dose, t.Lock = b.Case.Block.DoseIn(written, b.Week).WithoutClauses().String(), written.Lock
		}
		if c := lost[slot.ID]; c >= leastCost {
			t.Cost, t.Costly = "−"+v.number(c, 1), c >= costly
		}
		p.Tiles = append(p.Tiles, t)
	}
}

// What earlier work costs is written from leastCost on, and marked from costly on,
// repetitions a set (our judgement; key judgement; the rule on order is check's own).
const leastCost, costly = 0.1, 1.0

// number writes a number in the language of the visit.
func (v *visit) number(x float64, digits int) string {
	return decimal(x, digits, v.language())
}

// reasons are the words for reasons, as they stand on tiles and arcs.
var reasonTexts = map[string]form.Text{
	"test": {En: "tests", De: "testet"}, "prepare": {En: "prepares", De: "bereitet vor"}, "practise": {En: "practises", De: "übt"},
	"load": {En: "loads", De: "belastet"}, "spare": {En: "spares", De: "schont"}, "restore": {En: "restores", De: "stellt wieder her"},
}

// reasonWords lists the reasons that hold, and says of the others that they do not.
func (v *visit) reasonWords(list []check.ReasonResult) string {
	var out []string
	for _, r := range list {
		text := reasonTexts[r.Reason].In(v.language())
		if !r.Holds {
			text += v.say(" (does not hold)", " (gilt nicht)")
		}
		if !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	if len(out) == 0 {
		return v.say("no reason yet", "noch ohne Grund")
	}
	return strings.Join(out, " · ")
}

// within returns the places of a link's ends among the slots, and false where one
// lies in another session.
func within(found *check.SessionReport, l check.Link) (from, to int, ok bool) {
	at := func(id string) int {
		return slices.IndexFunc(found.Slots, func(s check.SlotReport) bool { return s.ID == id })
	}
	from, to = at(l.From), at(l.To)
	return from, to, from >= 0 && to >= 0 && from != to
}

// arcLevels is how many levels of arcs stand above the tiles: as many as the longest
// arc spans exercises, up to five.
func arcLevels(found *check.SessionReport) int {
	levels := 0
	for _, l := range found.Links {
		if from, to, ok := within(found, l); ok {
			levels = max(levels, min(abs(to-from), 4)+1)
		}
	}
	return levels
}

func abs(x int) int { return max(x, -x) }

// arcs joins tiles whose exercises do something for each other.
func (s *server) arcs(v *visit, found *check.SessionReport, p *boardPicture) {
	for _, l := range found.Links {
		from, to, ok := within(found, l)
		if !ok {
			continue
		}
		x1, x2, y := p.Tiles[from].Mid, p.Tiles[to].Mid, p.Tops-3
		high := arcStep*float64(min(abs(to-from), 4)) + 8
		a := arc{Class: l.Kind, TextX: (x1 + x2) / 2, TextY: y - high*0.75 - 6, Text: reasonTexts[l.Kind].In(v.language())}
		a.Path = fmt.Sprintf("M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1f", x1, y, x1, y-high, x2, y-high, x2, y-3)
		a.Head = fmt.Sprintf("M%.1f %.1fL%.1f %.1fL%.1f %.1f", x2-5, y-11, x2, y-1, x2+5, y-11)
		p.Arcs = append(p.Arcs, a)
	}
}

// lanes draws what the muscles that fall lowest have left.
func (p *boardPicture) lanes(v *visit, found *check.SessionReport, x func(float64) float64, all bool) {
	list := found.Lanes
	if !all && len(list) > lanesShown {
		list, p.More = list[:lanesShown], len(list)-lanesShown
	}
	for i, l := range list {
		top := p.Floor + costHeight + laneHeight*float64(i) + laneTop
		base := top + laneHeight - laneTop - 4
		y := func(left float64) float64 { return top + (1-max(left, laneFloor))/(1-laneFloor)*(base-top) }
		var line strings.Builder
		for k := range l.Minutes {
			fmt.Fprintf(&line, "%c%.1f %.1f", map[bool]rune{true: 'M', false: 'L'}[k == 0], x(l.Minutes[k]), y(l.Left[k]))
		}
		last := len(l.Minutes) - 1
		least := slices.Min(l.Left)
		row := lane{Name: anatomy.MuscleSide{Muscle: anatomy.Muscle(l.Muscle), Side: anatomy.Side(l.Side)}.In(v.language()), Line: line.String(), TextY: top - 5, Base: base,
			Area: fmt.Sprintf("%sL%.1f %.1fL%.1f %.1fZ", line.String(), x(l.Minutes[last]), base, x(0), base),
			Last: fmt.Sprintf(v.say("least %d %%, %d %% at the end", "mindestens %d %%, am Ende %d %%"), int(100*least+0.5), int(100*l.Left[last]+0.5))}
		p.Lanes = append(p.Lanes, row)
	}
}

// boardPage shows a session on its time axis.
func (s *server) boardPage(v *visit) error {
	week := max(number(v.FormValue("week")), 1)
	b, err := s.practice.Board(v.Context(), v.who, v.PathValue("id"), v.FormValue("session"), week, v.language())
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "board", s.boardData(v, b))
	return nil
}

// boardData is what a board shows.
func (s *server) boardData(v *visit, b *practice.Board) map[string]any {
	data := map[string]any{"Title": b.Session.Name, "Board": b, "Case": b.Case, "Block": b.Case.Block, "Client": b.Case.Client, "Report": b.Report, "Wide": true,
		"Picture": s.picture(v, b, v.FormValue("lanes") == "all"), "Rows": s.boardRows(v, b), "Sums": s.sums(v, b), "Library": s.practice.Library.All(),
		"Here": problemsHere(b), "Elsewhere": len(b.Report.Problems) - len(problemsHere(b))}
	return data
}

// problemsHere lists the problems of the board's session and week, and of its whole.
func problemsHere(b *practice.Board) (out []check.Problem) {
	for _, p := range b.Report.Problems {
		if (p.At.Session == "" || p.At.Session == string(b.Session.ID)) && (p.At.Week == 0 || p.At.Week == b.Week) {
			out = append(out, p)
		}
	}
	return out
}

// A sum is a figure above the board.
type sum struct{ Figure, Text string }

// sums are the figures above the board: minutes, reasons that hold, what is to be
// settled here.
func (s *server) sums(v *visit, b *practice.Board) (out []sum) {
	if b.Found == nil {
		return nil
	}
	minutes := v.say("min", "min")
	if b.Session.Minutes > 0 {
		minutes = fmt.Sprintf(v.say("of %d min", "von %d min"), b.Session.Minutes)
	}
	if b.Found.High > b.Found.Low {
		minutes += fmt.Sprintf(" (%s–%s)", v.number(b.Found.Low, 0), v.number(b.Found.High, 0))
	}
	out = append(out, sum{v.number(b.Found.Minutes, 0), minutes})
	hold, all := 0, 0
	for _, slot := range b.Found.Slots {
		for _, r := range slot.Reasons {
			all++
			if r.Holds {
				hold++
			}
		}
	}
	out = append(out, sum{fmt.Sprintf(v.say("%d of %d", "%d von %d"), hold, all), v.say("reasons hold", "Gründen gelten")})
	settle := 0
	for _, p := range problemsHere(b) {
		if p.Severity != check.Note && p.Kept == "" {
			settle++
		}
	}
	return append(out, sum{strconv.Itoa(settle), v.say("to settle here", "hier zu klären")})
}

// A boardRow is an exercise of the board to be edited.
type boardRow struct {
	tile
	Typed, Comes, Rest string
	Written            *plan.Slot
	First, Last        bool
	Because            []string
	Costs              []string
	Sets               []string
	Substitutes        []practice.Substitute
}

// boardRows lists the exercises of the board.
func (s *server) boardRows(v *visit, b *practice.Board) (out []boardRow) {
	pic := s.picture(v, b, false)
	for i := range b.Session.Slots {
		slot := &b.Session.Slots[i]
		row := boardRow{Written: slot, First: i == 0, Last: i == len(b.Session.Slots)-1, Rest: slot.Rest.String(), Comes: b.Case.Block.DoseIn(slot, b.Week).WithoutClauses().Canonical()}
		row.tile = tile{Slot: string(slot.ID), Exercise: slot.Exercise, Name: s.practice.ExerciseName(slot.Exercise, v.language()), Lock: slot.Lock}
		if d, ok := slot.Weeks[b.Week]; ok {
			row.Typed = d.String()
		}
		if b.Week == 1 {
			row.Typed = slot.Dose.String()
		}
		if pic != nil {
			if k := slices.IndexFunc(pic.Tiles, func(t tile) bool { return t.Slot == row.Slot }); k >= 0 {
				row.tile = pic.Tiles[k]
				s.explain(v, b, b.Found.Slots[k], &row)
			}
		}
		row.Substitutes = s.practice.Substitutes(slot.Exercise, v.language())
		out = append(out, row)
	}
	return out
}

// explain writes why an exercise is there, what it costs and what each set meets.
func (s *server) explain(v *visit, b *practice.Board, slot check.SlotReport, row *boardRow) {
	for _, r := range slot.Reasons {
		row.Because = append(row.Because, reasonTexts[r.Reason].In(v.language())+": "+r.Because)
	}
	for _, c := range slot.Costs {
		if c.Per >= leastCost {
			k := slices.IndexFunc(b.Found.Slots, func(o check.SlotReport) bool { return o.ID == c.To })
			if k >= 0 {
				row.Costs = append(row.Costs, fmt.Sprintf(v.say("%s: %s repetitions a set", "%s: %s Wiederholungen je Satz"), s.practice.ExerciseName(b.Found.Slots[k].Exercise, v.language()), v.number(c.Per, 1)))
			}
		}
	}
	for _, set := range slot.Sets {
		if set.WarmUp || set.Unknown != "" {
			continue
		}
		text := fmt.Sprintf(v.say("set %d%s: %s possible", "Satz %d%s: %s möglich"), set.N, v.sideWord(set.Side), v.number(set.Failure, 1))
		if set.Low != nil && set.High != nil {
			text += fmt.Sprintf(" (%s–%s)", v.number(*set.Low, 0), v.number(*set.High, 0))
		}
		text += fmt.Sprintf(v.say(", %s done, %s left over", ", %s gemacht, %s übrig"), v.number(set.Reps, 0), v.number(set.RIR, 1))
		if set.LoadKg != nil && *set.LoadKg > 0 {
			text += fmt.Sprintf(", %s kg", v.number(*set.LoadKg, 1))
		}
		row.Sets = append(row.Sets, text)
	}
}

// sideWord names the side of a set where there is one.
func (v *visit) sideWord(side string) string {
	if side == string(anatomy.Left) || side == string(anatomy.Right) {
		return " " + anatomy.Side(side).In(v.language())
	}
	return ""
}

// tryDose shows the board as it would be with what was typed so far; nothing is
// stored.
func (s *server) tryDose(v *visit) error {
	b, err := s.practice.TryDose(v.Context(), v.who, v.PathValue("id"), v.FormValue("session"), max(number(v.FormValue("week")), 1), v.FormValue("slot"), v.FormValue("dose"), v.language())
	if err != nil {
		return err
	}
	s.write(v, http.StatusOK, "board", "tried", s.boardData(v, b))
	return nil
}

// boardAt is the address of a board.
func boardAt(v *visit, slot string) string {
	at := "/blocks/" + url.PathEscape(v.PathValue("id")) + "/board?" + url.Values{"session": {v.FormValue("session")}, "week": {strconv.Itoa(max(number(v.FormValue("week")), 1))}}.Encode()
	if slot != "" {
		at += "#" + url.PathEscape("x-"+slot)
	}
	return at
}

// setDose stores a dose.
func (s *server) setDose(v *visit) error {
	slot := v.FormValue("slot")
	if _, err := s.practice.SetDose(v.Context(), v.who, v.PathValue("id"), slot, max(number(v.FormValue("week")), 1), strings.Join(strings.Fields(v.FormValue("dose")), " "), v.FormValue("op")); err != nil && practice.ReasonOf(err) != practice.Nothing {
		return err
	}
	return v.to(boardAt(v, slot))
}

// boardDo adds, moves, swaps, locks or takes out an exercise on the board, or takes
// back the last change.
func (s *server) boardDo(v *visit) error {
	id, slot, do := v.PathValue("id"), v.FormValue("slot"), v.FormValue("do")
	var err error
	switch do {
	case "undo":
		_, err = s.practice.Undo(v.Context(), v.who, practice.BlockDoc, id, v.FormValue("op"))
	case "lock", "unlock":
		_, err = s.practice.Lock(v.Context(), v.who, id, slot, do == "lock", v.FormValue("op"))
	case "fields":
		_, err = s.practice.SetSlot(v.Context(), v.who, id, slot, practice.SlotFields{Rest: v.FormValue("rest"), Tempo: v.FormValue("tempo"), Measure: v.FormValue("measure"),
			Superset: v.FormValue("superset"), Note: v.FormValue("note"), Private: v.FormValue("private")}, v.FormValue("op"))
	case "to":
		_, err = s.practice.MoveTo(v.Context(), v.who, id, slot, v.FormValue("other"), v.FormValue("op"))
		slot = ""
	case "way-out":
		_, err = s.practice.TakeWayOut(v.Context(), v.who, id, v.FormValue("fix"), v.FormValue("op"))
	case "keep":
		err = s.practice.Keep(v.Context(), v.who, id, v.FormValue("problem"), v.FormValue("why"), v.FormValue("op"))
	default:
		_, err = s.practice.Edit(v.Context(), v.who, id, arranged[do], v.FormValue("op"), func(b *plan.Block) error {
			return s.practice.Arrange(b, do, form.ID(slot), form.ID(v.FormValue("session")), v.FormValue("exercise"), v.FormValue("dose"))
		})
	}
	if err != nil {
		return err
	}
	if do == "out" {
		slot = ""
	}
	return v.to(boardAt(v, slot))
}
