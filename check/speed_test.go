package check

import (
	"fmt"
	"io/fs"
	"testing"

	"corbel/client"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// large is a block of 6 sessions of 8 exercises over 4 weeks for Rosa.
func large(b *testing.B) Input {
	b.Helper()
	src, err := fs.ReadFile(examples.Files, "rosa-client.yaml")
	if err != nil {
		b.Fatal(err)
	}
	c, err := client.Read("rosa", src, exercise.Shipped.Name)
	if err != nil {
		b.Fatal(err)
	}
	src, err = fs.ReadFile(examples.Files, "rosa-block.yaml")
	if err != nil {
		b.Fatal(err)
	}
	block, err := plan.ReadBlock("rosa", src, exercise.Shipped.Name)
	if err != nil {
		b.Fatal(err)
	}
	days := client.Weekday("").Values()
	var slots []plan.Slot
	for _, s := range block.Sessions {
		slots = append(slots, s.Slots...)
	}
	block.Sessions, block.Kept = nil, nil
	for i := range 6 {
		s := plan.Session{ID: form.ID(fmt.Sprintf("s%d", i)), Name: fmt.Sprint(i), Day: client.Weekday(days[i]), Place: "garage"}
		for j := range 8 {
			x := slots[(i*3+j)%len(slots)]
			x.ID, x.Reasons = form.ID(fmt.Sprintf("x%dx%d", i, j)), nil
			s.Slots = append(s.Slots, x)
		}
		block.Sessions = append(block.Sessions, s)
	}
	return Input{Client: c, Block: block, Library: exercise.Shipped, Language: form.English}
}

// BenchmarkCheck checks 6 sessions of 8 exercises over 4 weeks: budgets 60 ms of
// one core without draws and 1 s with 200.
func BenchmarkCheck(b *testing.B) {
	for _, draws := range []int{0, 200} {
		b.Run(fmt.Sprintf("draws=%d", draws), func(b *testing.B) {
			in := large(b)
			in.Draws, in.Seed = draws, 1
			b.ReportAllocs()
			for b.Loop() {
				Check(in)
			}
		})
	}
}

// BenchmarkRules runs the same without working out ways out.
func BenchmarkRules(b *testing.B) {
	in := large(b)
	b.ReportAllocs()
	for b.Loop() {
		r := newRules(in)
		r.offer = false
		r.apply()
	}
}
