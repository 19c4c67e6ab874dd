package client

import (
	"fmt"

	"corbel/form"
)

// Wishes are what a proposed block is to be like. Flags and restrictions beat them.
type Wishes struct {
	Lifts   []WishedLift `form:"lifts" doc:"lifts that are to be done, and how often a week"`
	Without []string     `form:"without" doc:"exercises not wanted, by id, name or abbreviation"`
	Most    int          `form:"exercises" doc:"most exercises a session, 2 to 12; 7 if left out"`
	Variety Variety      `form:"variety" doc:"keep: as few new exercises as possible; rotate: other ones for accessories"`
}

// A WishedLift is a lift that is to be done.
type WishedLift struct {
	Exercise string `form:"exercise,required" doc:"the lift, by id, name or abbreviation"`
	Times    int    `form:"times" doc:"how often a week, 1 to 7; 1 if left out"`
}

// Variety says what becomes of the exercises of the block before.
type Variety string

// Varieties.
const (
	KeepExercises Variety = "keep"
	Rotate        Variety = "rotate"
)

// Values lists the varieties.
func (Variety) Values() []string { return []string{string(KeepExercises), string(Rotate)} }

// Bounds of the exercises a session (our judgement; key judgement).
const (
	fewestExercises, mostExercises = 2, 12
	usualExercises                 = 7
)

// Exercises returns the most exercises a session is to have.
func (w Wishes) Exercises() int {
	if w.Most == 0 {
		return usualExercises
	}
	return w.Most
}

// check refuses wishes that cannot be meant.
func (w *Wishes) check(d *form.Doc, names Namer) {
	for i := range w.Lifts {
		path := fmt.Sprintf("wishes.lifts[%d]", i)
		Resolve(d, path+".exercise", &w.Lifts[i].Exercise, names)
		if n := w.Lifts[i].Times; n < 0 || n > 7 {
			d.Refuse(path+".times", "out-of-range", "%d times a week: write 1 to 7", n)
		}
	}
	for i := range w.Without {
		Resolve(d, fmt.Sprintf("wishes.without[%d]", i), &w.Without[i], names)
	}
	if w.Most != 0 && (w.Most < fewestExercises || w.Most > mostExercises) {
		d.Refuse("wishes.exercises", "out-of-range", "%d exercises a session: write %d to %d", w.Most, fewestExercises, mostExercises)
	}
}
