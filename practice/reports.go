package practice

import (
	"sync"

	"corbel/check"
	"corbel/form"
)

// mostReports bounds the reports kept in memory (our judgement: one of a usual block
// takes about 0.15 MB, and a practice of 500 clients has one each).
const mostReports = 600

// reports keeps the newest reports by what they were made of.
type reports struct {
	mu   sync.Mutex
	kept map[string]*check.Report
	next []string // in the order they came
}

// of returns the report made of something, or makes and keeps it.
func (r *reports) of(key string, fresh func() *check.Report) *check.Report {
	r.mu.Lock()
	known, ok := r.kept[key]
	r.mu.Unlock()
	if ok {
		return known
	}
	made := fresh()
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.kept == nil {
		r.kept = map[string]*check.Report{}
	}
	if _, ok := r.kept[key]; !ok {
		r.next = append(r.next, key)
	}
	r.kept[key] = made
	if len(r.next) > mostReports {
		delete(r.kept, r.next[0])
		r.next = r.next[1:]
	}
	return made
}

// Clear forgets all.
func (r *reports) Clear() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.kept, r.next = nil, nil
}

// madeOf is a hash of all that a check of the case depends on, but language and draws.
func (p *Practice) madeOf(c *Case) string {
	of := p.around(c) + c.Doc.Text
	if c.Member != "" {
		of += "\x00" + string(form.Write(c.Block)) // with the member's own changes
	}
	return hashOf(of)
}

// around is a hash of what a check of a case depends on beside the block: the day, for
// the questions age, client, log and rules of the practice.
func (p *Practice) around(c *Case) string {
	of := p.today().String() + "\x00" + string(form.Write(c.Client))
	if c.Log != nil {
		of += "\x00" + string(form.Write(c.Log))
	}
	if c.Practice != nil {
		of += "\x00" + string(form.Write(c.Practice))
	}
	return hashOf(of)
}
