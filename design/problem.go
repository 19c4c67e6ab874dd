package design

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
)

// Version is the version of the form of a Problem.
const Version = 1

// SetUnit is how many units of work one hard set is: work is counted in twentieths,
// so that a set that counts half is a whole number.
const SetUnit = 20

// PointUnit is how many units of value one point is.
const PointUnit = 1000

// A Problem is the whole of what the search is told, in whole numbers: work in
// 1/20 set, value in 1/1000 point, time in seconds. docs/model/08-design.md section 2.
// It is read-only.
type Problem struct {
	Form    int      `json:"form"`
	Days    []Day    `json:"days"`
	Columns []Column `json:"columns"`
	Options []Option `json:"options"`
	Groups  []Group  `json:"groups"`
	Pairs   []Pair   `json:"pairs,omitempty"`
	Near    []Near   `json:"near,omitempty"`
	Needs   []Need   `json:"needs,omitempty"`
	Locks   []Lock   `json:"locks,omitempty"`
	Views   []View   `json:"views,omitempty"` // left out: one, of all days
}

// A Day is a session that can be filled.
type Day struct {
	Name    string `json:"name"`
	Seconds int    `json:"seconds"` // time there is, setting up included
	Most    int    `json:"most"`    // most exercises
}

// A Column is what the week is counted for: a muscle on a side, or a judged lift.
type Column struct {
	Name   string  `json:"name"`
	Pieces []Piece `json:"pieces"`        // value of work, slopes falling
	Cap    int     `json:"cap,omitempty"` // most work a week, 1/20 set; 0 for none
	Low    int     `json:"low,omitempty"` // aim, 1/20 set
	High   int     `json:"high,omitempty"`
}

// A Piece is a run of work that is worth the same for every unit; the last piece
// of a column goes on for ever.
type Piece struct {
	Length int `json:"length"` // 1/20 set
	Slope  int `json:"slope"`  // 1/1000 point for 1/20 set
}

// An Option is an exercise with a dose and a stage.
type Option struct {
	Name    string `json:"name"`
	Least   int    `json:"least"` // sets, where chosen
	Most    int    `json:"most"`
	Setup   int    `json:"setup"`            // s, once
	Set     int    `json:"set"`              // s for each set, with its rest
	Cost    int    `json:"cost,omitempty"`   // 1/1000 point for each set
	Use     int    `json:"use,omitempty"`    // 1/1000 point, once in a view where it is used
	Reward  []int  `json:"reward"`           // 1/1000 point, by day
	Allowed []bool `json:"allowed"`          // by day
	Work    []Work `json:"work"`             // for each set
	Groups  []int  `json:"groups,omitempty"` // groups it belongs to, rising
}

// Work is what each set of an option counts for a column.
type Work struct {
	Column int `json:"column"`
	Units  int `json:"units"` // 1/20 set
}

// A Group limits how many of its options stand on a day and in the week.
type Group struct {
	Name string `json:"name"`
	Day  int    `json:"day"`
	Week int    `json:"week"`
}

// A Pair is worth Value on each day that has For and at least one of By.
type Pair struct {
	Name  string `json:"name"`
	For   int    `json:"for"`
	By    []int  `json:"by"`
	Value int    `json:"value"`
}

// Near costs Cost for each unit by which the work of two days for a column passes
// Free together.
type Near struct {
	Column int `json:"column"`
	A      int `json:"a"` // days
	B      int `json:"b"`
	Free   int `json:"free"` // 1/20 set
	Cost   int `json:"cost"` // 1/1000 point for 1/20 set
}

// A Need costs Cost for each time that a group is chosen less often than Times in
// the week.
type Need struct {
	Group int `json:"group"`
	Times int `json:"times"`
	Cost  int `json:"cost"`
}

// A Lock holds an option on a day at a number of sets; 0 keeps it out.
type Lock struct {
	Option int `json:"option"`
	Day    int `json:"day"`
	Sets   int `json:"sets"`
}

// A View is a choice of days that is judged for itself, with the best value such
// days can have alone. Without views, the week is judged as a whole.
type View struct {
	Days []int `json:"days"`
	Best int64 `json:"best"` // 1/1000 point, over 0
}

// Bounds of a problem, so that sums stay far from the ends of an int64 and the
// search ends (our judgement; key judgement).
const (
	mostDays    = 14
	mostOptions = 2000
	mostColumns = 400
	mostSets    = 20
	mostNumber  = 10_000_000
)

// Bytes writes the problem as it is frozen.
func (p *Problem) Bytes() []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	if err := e.Encode(p); err != nil {
		panic(badProblem)
	}
	return b.Bytes()
}

const badProblem = "design: a problem that cannot be written"

// Sum is the SHA-256 of the bytes, in hexadecimal digits.
func (p *Problem) Sum() string {
	sum := sha256.Sum256(p.Bytes())
	return hex.EncodeToString(sum[:])
}

// Read reads a frozen problem and refuses one that contradicts itself.
func Read(name string, src []byte) (*Problem, error) {
	d := json.NewDecoder(bytes.NewReader(src))
	d.DisallowUnknownFields()
	p := &Problem{}
	if err := d.Decode(p); err != nil {
		return nil, fmt.Errorf("%s: not a design problem: %w; write it anew with corbel design", name, err)
	}
	if err := p.check(); err != nil {
		return nil, fmt.Errorf("%s: %w; write it anew with corbel design", name, err)
	}
	return p, nil
}

// check says what is wrong with a problem, or nil.
func (p *Problem) check() error {
	switch {
	case p.Form != Version:
		return fmt.Errorf("form %d, and only form %d is read", p.Form, Version)
	case len(p.Days) == 0 || len(p.Days) > mostDays:
		return fmt.Errorf("%d days: there are 1 to %d", len(p.Days), mostDays)
	case len(p.Options) > mostOptions || len(p.Columns) > mostColumns:
		return fmt.Errorf("%d options and %d columns: there are at most %d and %d", len(p.Options), len(p.Columns), mostOptions, mostColumns)
	}
	var errs []error
	for i, d := range p.Days {
		errs = append(errs, within(fmt.Sprintf("days[%d].seconds", i), d.Seconds, 0, mostNumber), within(fmt.Sprintf("days[%d].most", i), d.Most, 0, mostOptions))
	}
	for i, c := range p.Columns {
		errs = append(errs, c.check(fmt.Sprintf("columns[%d]", i)))
	}
	for i, o := range p.Options {
		errs = append(errs, o.check(fmt.Sprintf("options[%d]", i), p))
	}
	for i, g := range p.Groups {
		errs = append(errs, within(fmt.Sprintf("groups[%d].day", i), g.Day, 0, mostNumber), within(fmt.Sprintf("groups[%d].week", i), g.Week, 0, mostNumber))
	}
	errs = append(errs, p.checkRules())
	return errors.Join(errs...)
}

// within refuses a number out of its range.
func within(where string, x, low, high int) error {
	if x < low || x > high {
		return fmt.Errorf("%s is %d: it must be %d to %d", where, x, low, high)
	}
	return nil
}

// check refuses a column that is not concave.
func (c Column) check(at string) error {
	errs := []error{within(at+".cap", c.Cap, 0, mostNumber), within(at+".low", c.Low, 0, mostNumber), within(at+".high", c.High, c.Low, mostNumber)}
	if len(c.Pieces) == 0 {
		return fmt.Errorf("%s has no pieces", at)
	}
	for i, x := range c.Pieces {
		errs = append(errs, within(fmt.Sprintf("%s.pieces[%d].length", at, i), x.Length, 1, mostNumber), within(fmt.Sprintf("%s.pieces[%d].slope", at, i), x.Slope, -mostNumber, mostNumber))
		if i > 0 && x.Slope > c.Pieces[i-1].Slope {
			errs = append(errs, fmt.Errorf("%s.pieces[%d] is worth more a set than the one before", at, i))
		}
	}
	return errors.Join(errs...)
}

// check refuses an option whose parts do not fit the problem.
func (o Option) check(at string, p *Problem) error {
	errs := []error{within(at+".least", o.Least, 1, mostSets), within(at+".most", o.Most, o.Least, mostSets),
		within(at+".setup", o.Setup, 0, mostNumber), within(at+".set", o.Set, 0, mostNumber),
		within(at+".cost", o.Cost, -mostNumber, mostNumber), within(at+".use", o.Use, 0, mostNumber)}
	if len(o.Reward) != len(p.Days) || len(o.Allowed) != len(p.Days) {
		errs = append(errs, fmt.Errorf("%s has rewards for %d days and is allowed on %d: there are %d days", at, len(o.Reward), len(o.Allowed), len(p.Days)))
	}
	for i, r := range o.Reward {
		errs = append(errs, within(fmt.Sprintf("%s.reward[%d]", at, i), r, -mostNumber, mostNumber))
	}
	for i, w := range o.Work {
		errs = append(errs, within(fmt.Sprintf("%s.work[%d].column", at, i), w.Column, 0, len(p.Columns)-1), within(fmt.Sprintf("%s.work[%d].units", at, i), w.Units, 0, SetUnit*mostSets))
	}
	for i, g := range o.Groups {
		errs = append(errs, within(fmt.Sprintf("%s.groups[%d]", at, i), g, 0, len(p.Groups)-1))
		if i > 0 && g <= o.Groups[i-1] {
			errs = append(errs, fmt.Errorf("%s.groups do not rise", at))
		}
	}
	return errors.Join(errs...)
}

// checkRules refuses pairs, neighbours, needs, locks and views that name what is
// not there.
func (p *Problem) checkRules() error {
	var errs []error
	for i, x := range p.Pairs {
		at := fmt.Sprintf("pairs[%d]", i)
		errs = append(errs, within(at+".for", x.For, 0, len(p.Options)-1), within(at+".value", x.Value, -mostNumber, mostNumber))
		for _, b := range x.By {
			errs = append(errs, within(at+".by", b, 0, len(p.Options)-1))
			if b == x.For {
				errs = append(errs, fmt.Errorf("%s joins an option with itself", at))
			}
		}
	}
	for i, x := range p.Near {
		at := fmt.Sprintf("near[%d]", i)
		errs = append(errs, within(at+".column", x.Column, 0, len(p.Columns)-1), within(at+".a", x.A, 0, len(p.Days)-1), within(at+".b", x.B, x.A+1, len(p.Days)-1),
			within(at+".free", x.Free, 0, mostNumber), within(at+".cost", x.Cost, 0, mostNumber))
	}
	if len(p.Near) > 0 && len(p.Views) > 0 {
		errs = append(errs, errors.New("near and views are both there: who chooses the days has no neighbours"))
	}
	for i, x := range p.Needs {
		at := fmt.Sprintf("needs[%d]", i)
		errs = append(errs, within(at+".group", x.Group, 0, len(p.Groups)-1), within(at+".times", x.Times, 0, mostNumber), within(at+".cost", x.Cost, 0, mostNumber))
	}
	for i, x := range p.Locks {
		at := fmt.Sprintf("locks[%d]", i)
		errs = append(errs, within(at+".option", x.Option, 0, len(p.Options)-1), within(at+".day", x.Day, 0, len(p.Days)-1), within(at+".sets", x.Sets, 0, mostSets))
	}
	for i, x := range p.Views {
		at := fmt.Sprintf("views[%d]", i)
		if x.Best <= 0 {
			errs = append(errs, fmt.Errorf("%s.best is %d: it must be over 0", at, x.Best))
		}
		for j, d := range x.Days {
			errs = append(errs, within(at+".days", d, 0, len(p.Days)-1))
			if j > 0 && d <= x.Days[j-1] {
				errs = append(errs, fmt.Errorf("%s.days do not rise", at))
			}
		}
	}
	return errors.Join(errs...)
}

// only returns the problem of some of the days, judged as one week; days rise.
// Locks of other days are left out.
func (p *Problem) only(days []int) *Problem {
	q := &Problem{Form: p.Form, Columns: p.Columns, Groups: p.Groups, Pairs: p.Pairs, Needs: p.Needs}
	for _, d := range days {
		q.Days = append(q.Days, p.Days[d])
	}
	for _, o := range p.Options {
		reward, allowed := make([]int, len(days)), make([]bool, len(days))
		for i, d := range days {
			reward[i], allowed[i] = o.Reward[d], o.Allowed[d]
		}
		o.Reward, o.Allowed = reward, allowed
		q.Options = append(q.Options, o)
	}
	at := func(day int) int { return slices.Index(days, day) }
	for _, n := range p.Near {
		if n.A, n.B = at(n.A), at(n.B); n.A >= 0 && n.B >= 0 {
			q.Near = append(q.Near, n)
		}
	}
	for _, l := range p.Locks {
		if l.Day = at(l.Day); l.Day >= 0 {
			q.Locks = append(q.Locks, l)
		}
	}
	return q
}
