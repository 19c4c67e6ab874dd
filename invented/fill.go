// Package invented fills an empty practice with invented people: a coach, an assistant,
// eleven clients and a member of a group, each in another state of the work. It goes
// through the ordinary operations of package practice, so that what it makes can be
// changed, taken back and verified like everything else.
//
// Dates are set by the clock of the practice; the same day gives the same bytes.
package invented

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"

	"corbel/client"
	"corbel/examples"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// A Sign is how somebody of the demo signs in.
type Sign struct{ Name, Email, Phrase string }

// The people of the practice. Their passphrases are no secret: the demo is for
// looking around.
var (
	Coach     = Sign{"Ida Brandt", "ida@example.org", "four plain long words"}
	Assistant = Sign{"Jon Weiss", "jon@example.org", "another plain phrase"}
)

// Given are the clients the assistant works with: three, and the group's member.
var Given = []string{"tomas-f", "berta-h", "rosa-l", "valley"}

// Errors of the demo.
var errNotEmpty = errors.New("this practice is not empty; the demo fills a new one alone: choose another folder with --data")

// seed is the start of the random numbers of ids and salts, 32 bytes. The demo holds
// nothing that needs a secret.
var seed = [32]byte([]byte("corbel demo, the same every time"))

// A filler fills a practice.
type filler struct {
	ctx    context.Context
	p      *practice.Practice
	coach  *practice.Account
	monday form.Date // of the week it is
	today  form.Date
	count  int // of operations
}

// Fill fills an empty practice. The error says that it is not empty, or what could
// not be written.
func Fill(ctx context.Context, in *practice.Practice) error {
	p := practice.New(in.Store, in.Library, in.Now, in.MadeBy)
	p.Bodies, p.Random = in.Bodies, rand.NewChaCha8(seed)
	token, err := p.SetUpLink(ctx)
	if err != nil {
		return err
	}
	if token == "" {
		return errNotEmpty
	}
	f := &filler{ctx: ctx, p: p, today: form.DateOf(p.Now())}
	weekday := (int(f.today.Time().Weekday()) + 6) % 7 // days since Monday
	f.monday = f.today.Plus(-weekday)
	if f.coach, err = p.SetUp(ctx, token, Coach.Name, Coach.Email, Coach.Phrase); err != nil {
		return err
	}
	assistant, err := p.AddAccount(ctx, f.coach, Assistant.Name, Assistant.Email, Assistant.Phrase, practice.Assistant)
	if err != nil {
		return err
	}
	for _, x := range people {
		if err := x.make(f); err != nil {
			return fmt.Errorf("the demo cannot make %s: %w", x.ID, err)
		}
	}
	return p.SetAccess(ctx, f.coach, assistant.ID, Given)
}

// next is the id of the next operation.
func (f *filler) next() string {
	f.count++
	return fmt.Sprintf("demo-%012d", f.count)
}

// put stores a form.
func (f *filler) put(kind practice.Kind, owner string, v any) error {
	_, err := f.p.Put(f.ctx, f.coach, kind, owner, string(form.Write(v)), f.next())
	return err
}

// example reads an example and moves its days.
func example[T any](file string, days int, read func(string, []byte) (T, error)) (T, error) {
	src, err := examples.Files.ReadFile(file)
	var v T
	if err == nil {
		v, err = read(file, src)
	}
	if err == nil {
		shift(reflect.ValueOf(v), days)
	}
	return v, err
}

// bornField is the day that is not moved: people do not grow younger.
const bornField = "Born"

var dateType = reflect.TypeFor[form.Date]()

// shift moves every day of a form.
func shift(v reflect.Value, days int) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			shift(v.Elem(), days)
		}
	case reflect.Slice:
		for i := range v.Len() {
			shift(v.Index(i), days)
		}
	case reflect.Struct:
		if v.Type() == dateType {
			if d := v.Interface().(form.Date); !d.IsZero() && v.CanSet() {
				v.Set(reflect.ValueOf(d.Plus(days)))
			}
			return
		}
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() && f.Name != bornField {
				shift(v.Field(i), days)
			}
		}
	}
}

// examplesStart is the Monday the blocks of the examples start on.
var examplesStart = func() form.Date {
	d, err := form.ParseDate("2026-11-30")
	if err != nil {
		panic("invented: the start of the examples is no day")
	}
	return d
}()

// moved is by how many days an example moves whose block starts so many weeks
// from this one.
func (f *filler) moved(weeks int) int { return f.monday.Plus(7 * weeks).Days(examplesStart) }

// clientFrom reads the client of an example as somebody else.
func (f *filler) clientFrom(file string, x person) (*client.Client, error) {
	c, err := example(file, f.moved(x.Weeks), func(n string, src []byte) (*client.Client, error) { return client.Read(n, src, f.p.Library.Name) })
	if err != nil {
		return nil, err
	}
	c.ID, c.Name = form.ID(x.ID), x.Name
	if x.Language != "" {
		c.Language = x.Language
	}
	if x.Change != nil {
		x.Change(f, c)
	}
	return c, nil
}

// blockFrom reads the block of an example as that of somebody else.
func (f *filler) blockFrom(file string, x person) (*plan.Block, error) {
	b, err := example(file, f.moved(x.Weeks), func(n string, src []byte) (*plan.Block, error) { return plan.ReadBlock(n, src, f.p.Library.Name) })
	if err != nil {
		return nil, err
	}
	if b.Client != "" {
		b.ID, b.Client = form.ID(x.ID+"-1"), x.ID+".yaml"
	}
	if x.Block != "" {
		b.Name = x.Block
	}
	b.Revision, b.State, b.MadeWith = 1, plan.Draft, plan.MadeWith{}
	return b, nil
}

// record records every session of a block that is due and not in skip, as it was
// written or as typed says.
func (f *filler) record(block string, typed func(d practice.DueSession, r *practice.Recorded)) error {
	c, err := f.p.Open(f.ctx, f.coach, block)
	if err != nil {
		return err
	}
	due := f.p.Due(c)
	slices.SortStableFunc(due, func(a, b practice.DueSession) int { return a.On.Days(b.On) })
	for _, d := range due {
		if !d.On.Before(f.today) {
			continue
		}
		r := practice.Recorded{Session: d.Session, Week: d.Week, Sets: map[string]string{}}
		if err := f.typeNumbers(c, &r); err != nil {
			return err
		}
		if typed != nil {
			typed(d, &r)
		}
		if err := f.p.RecordTyped(f.ctx, f.coach, c, r, f.next()); err != nil {
			return err
		}
		if c, err = f.p.Open(f.ctx, f.coach, block); err != nil {
			return err
		}
	}
	return nil
}

// asMany are the repetitions recorded where a set goes as far as it can.
const asMany = "10"

// typeNumbers writes a number for the sets that ask for as many repetitions as there
// are.
func (f *filler) typeNumbers(c *practice.Case, r *practice.Recorded) error {
	_, rows, err := f.p.Sheet(c, r.Session, r.Week, form.English)
	for _, row := range rows {
		if row.Done == "" {
			r.Sets[row.Key()] = asMany
		}
	}
	return err
}
