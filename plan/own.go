package plan

import (
	"corbel/client"
	"corbel/form"
)

// An OwnSession is a session a practice keeps by name, to be copied into blocks. It is
// nobody's: what was about the client it was written for is not in it.
type OwnSession struct {
	Form    int     `form:"form,required" doc:"version of the form, 1"`
	ID      form.ID `form:"id,required" doc:"given once"`
	Name    string  `form:"name,required" doc:"as the practice knows it"`
	Weeks   int     `form:"weeks,required" doc:"number of weeks its doses are written for, 1 to 12"`
	Note    string  `form:"note" doc:"what it is for"`
	Session Session `form:"session,required" doc:"the session; its day and place are those it was written for"`
}

// ReadOwnSession reads a session file. names finds exercises.
func ReadOwnSession(file string, src []byte, names client.Namer) (*OwnSession, error) {
	o := &OwnSession{}
	return read(file, src, "a session", o, func(d *form.Doc) { o.check(d, names) })
}

// check refuses what a session of a block cannot be.
func (o *OwnSession) check(d *form.Doc, names client.Namer) {
	if o.Weeks < 1 || o.Weeks > maxWeeks {
		d.Refuse("weeks", "out-of-range", "%d weeks: write 1 to %d", o.Weeks, maxWeeks)
	}
	o.Session.check(d, "session", &Block{Weeks: o.Weeks}, map[form.ID]bool{}, names)
}
