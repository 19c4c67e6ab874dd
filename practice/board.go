package practice

import (
	"context"
	"slices"
	"strings"

	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// Draws are the draws behind ranges on a board, in what is frozen and in what is
// proposed, as those of `corbel check`.
const Draws = 200

// A Board is one session of one week with all that was found about it.
type Board struct {
	Case    *Case
	Session *plan.Session
	Week    int
	Report  *check.Report // of the whole block
	Found   *check.SessionReport
	Tried   string // what is wrong with a dose that is only tried
}

// Board returns the board of a session in a week; the first of the block where
// session is empty. The error says that there is no such session.
func (p *Practice) Board(ctx context.Context, who *Account, block, session string, week int, l form.Language) (*Board, error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return nil, err
	}
	b, err := boardOf(c, session, week)
	if err != nil {
		return nil, err
	}
	b.Report = p.Judged(c, l)
	b.find()
	return b, nil
}

// boardOf chooses the session and the week.
func boardOf(c *Case, session string, week int) (*Board, error) {
	if week < 1 || week > c.Block.Weeks {
		return nil, fail(NotFound, "", "the block has weeks 1 to %d", c.Block.Weeks)
	}
	i := 0
	if session != "" {
		i = slices.IndexFunc(c.Block.Sessions, func(s plan.Session) bool { return string(s.ID) == session })
	}
	if i < 0 || i >= len(c.Block.Sessions) {
		return nil, fail(NotFound, "", "there is no session %q in this block", session)
	}
	return &Board{Case: c, Session: &c.Block.Sessions[i], Week: week}, nil
}

// find picks the board's session out of the report.
func (b *Board) find() {
	for i := range b.Report.Sessions {
		if s := &b.Report.Sessions[i]; s.ID == string(b.Session.ID) && s.Week == b.Week {
			b.Found = s
		}
	}
}

// TryDose returns the board as it would be with another dose of a slot, of the
// board's week and without ranges; nothing is stored. A dose that cannot be read
// leaves the board as it is and says what is wrong.
func (p *Practice) TryDose(ctx context.Context, who *Account, block, session string, week int, slot, dose string, l form.Language) (*Board, error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return nil, err
	}
	c.Block = c.Block.Clone()
	tried := setDose(c.Block, form.ID(slot), week, dose)
	if tried != nil && ReasonOf(tried) != Refused {
		return nil, tried
	}
	b, err := boardOf(c, session, week)
	if err != nil {
		return nil, err
	}
	if tried != nil {
		b.Tried = tried.Text
	}
	in := p.input(c, l, 0)
	in.Week = week
	b.Report = check.Check(in)
	b.find()
	return b, nil
}

// setDose writes a dose into the week of a slot; the empty text takes a later week's
// own dose away.
func setDose(b *plan.Block, slot form.ID, week int, dose string) *Error {
	_, s := b.SlotByID(slot)
	if s == nil {
		return fail(Conflict, string(slot), "somebody took this exercise out of the block meanwhile; reload the page")
	}
	dose = strings.TrimSpace(dose)
	if dose == "" && week > 1 {
		delete(s.Weeks, week)
		return nil
	}
	d, err := plan.ParseDose(dose)
	if err != nil {
		return &Error{Reason: Refused, At: "dose", Text: err.Error()}
	}
	if week == 1 {
		s.Dose = d
		return nil
	}
	if s.Weeks == nil {
		s.Weeks = map[int]plan.Dose{}
	}
	s.Weeks[week] = d
	return nil
}

// SetDose stores the dose of a slot in a week as one change.
func (p *Practice) SetDose(ctx context.Context, who *Account, block, slot string, week int, dose, id string) (Outcome, error) {
	return p.Edit(ctx, who, block, "typed a dose", id, func(b *plan.Block) error {
		if err := setDose(b, form.ID(slot), week, dose); err != nil {
			return err
		}
		return nil
	})
}

// Lock keeps a slot as it is when the program proposes, or lets it go.
func (p *Practice) Lock(ctx context.Context, who *Account, block, slot string, lock bool, id string) (Outcome, error) {
	return p.Edit(ctx, who, block, "locked an exercise", id, func(b *plan.Block) error {
		_, s := b.SlotByID(form.ID(slot))
		if s == nil {
			return fail(Conflict, slot, "somebody took this exercise out of the block meanwhile; reload the page")
		}
		s.Lock = lock
		return nil
	})
}

// Judged checks a case with ranges, as `corbel check` does.
func (p *Practice) Judged(c *Case, l form.Language) *check.Report {
	return p.judged.of(p.madeOf(c)+string(l)+"with ranges", func() *check.Report { return check.Check(p.input(c, l, Draws)) })
}

// A Substitute is an exercise that could stand in for another.
type Substitute struct {
	ID, Name string
	Shared   float64 // how much of the muscles' shares the two have in common, 0 to 1
}

// mostSubstitutes is how many are offered.
const mostSubstitutes = 8

// Substitutes lists exercises of the library that ask most for the same muscles, the
// nearest first: the sum over muscles of the smaller of both shares over the sum of
// the larger.
func (p *Practice) Substitutes(id string, l form.Language) []Substitute {
	e := p.Library.ByID(id)
	if e == nil {
		return nil
	}
	var out []Substitute
	for _, o := range p.Library.All() {
		if o.ID == e.ID {
			continue
		}
		if common := inCommon(e, o); common > 0 {
			out = append(out, Substitute{string(o.ID), o.Name.In(l), common})
		}
	}
	slices.SortStableFunc(out, func(a, b Substitute) int {
		switch {
		case a.Shared > b.Shared:
			return -1
		case a.Shared < b.Shared:
			return 1
		}
		return strings.Compare(a.ID, b.ID)
	})
	return out[:min(len(out), mostSubstitutes)]
}

// inCommon says how much of their shares two exercises have in common.
func inCommon(a, b *exercise.Exercise) float64 {
	var less, more float64
	for m, x := range a.Shares {
		y := b.Shares[m]
		less, more = less+min(x, y), more+max(x, y)
	}
	for m, y := range b.Shares {
		if _, both := a.Shares[m]; !both {
			more += y
		}
	}
	if more == 0 {
		return 0
	}
	return less / more
}

// A JointCompared is what a week asks of a joint, beside the same week of the block
// before; Before is nil where there is none.
type JointCompared struct {
	Name   string
	Now    session.JointWeek
	Before *session.JointWeek
}

// Joints says what a week asks of the client's joints, and how many working sets it
// cannot say it of; nothing where the body is not known.
func (p *Practice) Joints(ctx context.Context, who *Account, c *Case, week int) (out []JointCompared, without int, err error) {
	own := p.body(c.Client, c.Block.Start)
	if own == nil || c.Block.Group != "" {
		return nil, 0, nil
	}
	now, without := p.jointWeek(c.Client, own, c.Block, week)
	person, err := p.Person(ctx, who, c.Doc.Owner)
	if err != nil {
		return nil, 0, err
	}
	var before map[string]session.JointWeek
	for _, b := range person.Blocks { // newest first
		if b.Start.Before(c.Block.Start) && week <= b.Weeks {
			before, _ = p.jointWeek(c.Client, own, b, week)
			break
		}
	}
	for _, j := range session.Joints {
		x := JointCompared{Name: j.Name, Now: now[j.Name]}
		if before != nil {
			was := before[j.Name]
			x.Before = &was
		}
		out = append(out, x)
	}
	return out, without, nil
}

// jointWeek does a week on paper and sums its joint moments.
func (p *Practice) jointWeek(c *client.Client, own *session.Body, b *plan.Block, week int) (map[string]session.JointWeek, int) {
	a := session.NewAthlete(c, p.Library, nil, b.Start)
	a.Under = own
	return own.JointMoments(a.Week(b, week, session.Options{}))
}
