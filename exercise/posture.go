package exercise

import (
	"fmt"
	"io/fs"
	"slices"

	"corbel/form"
)

// Postures say how an exercise is done, as targets that package body solves for
// each client: where the load acts, what touches, and what holds in each pose.
// The form is described in docs/postures.md. One-sided exercises are written for the
// right side.
type Postures struct {
	Like     form.ID   `form:"like" doc:"exercise whose loads, contacts, targets and poses hold where nothing else is written"`
	Loads    []LoadAt  `form:"loads" doc:"where the load acts; none is body weight"`
	Contacts []Contact `form:"contacts" doc:"what touches floor, bench or bar"`
	All      Targets   `form:"all" doc:"targets of every pose"`
	Poses    []PoseDoc `form:"poses" doc:"the poses, from the start to the hardest point and beyond"`
}

// A PoseDoc is one pose as written.
type PoseDoc struct {
	Name     form.ID   `form:"name,required" doc:"name of the pose, such as top or bottom"`
	Contacts []Contact `form:"contacts" doc:"what touches in this pose, where it differs"`
	Targets  Targets   `form:"targets" doc:"targets of this pose; they replace those of the same name under all"`
}

// A Pose is one posture of an exercise with all that was inherited.
type Pose struct {
	Exercise string
	Name     string
	Loads    []Term
	Contacts []Term
	Targets  []Term
}

// Poses returns the postures of an exercise, or nothing where none are written.
// An exercise of a read library has no error in them.
func (l *Library) Poses(e *Exercise) []Pose {
	p := l.unfold(e)
	if p == nil {
		return nil
	}
	var out []Pose
	for _, doc := range p.Poses {
		pose := Pose{Exercise: string(e.ID), Name: string(doc.Name), Targets: lay(p.All.Terms, doc.Targets.Terms)}
		for _, x := range p.Loads {
			pose.Loads = append(pose.Loads, x.Term)
		}
		contacts := p.Contacts
		if len(doc.Contacts) > 0 {
			contacts = doc.Contacts
		}
		for _, x := range contacts {
			pose.Contacts = append(pose.Contacts, x.Term)
		}
		out = append(out, pose)
	}
	return out
}

// unfold lays the postures of an exercise over those it is like.
func (l *Library) unfold(e *Exercise) *Postures {
	if e.Postures == nil {
		return nil
	}
	own := *e.Postures
	if own.Like == "" {
		return &own
	}
	base := *l.unfold(l.byID[string(own.Like)])
	if len(own.Loads) == 0 {
		own.Loads = base.Loads
	}
	if len(own.Contacts) == 0 {
		own.Contacts = base.Contacts
	}
	own.All.Terms = lay(base.All.Terms, own.All.Terms)
	poses := slices.Clone(base.Poses)
	for _, p := range own.Poses {
		i := slices.IndexFunc(poses, func(q PoseDoc) bool { return q.Name == p.Name })
		if i < 0 {
			poses = append(poses, p)
			continue
		}
		if len(p.Contacts) > 0 {
			poses[i].Contacts = p.Contacts
		}
		poses[i].Targets.Terms = lay(poses[i].Targets.Terms, p.Targets.Terms)
	}
	place := func(p PoseDoc) int {
		return slices.IndexFunc(own.Poses, func(q PoseDoc) bool { return q.Name == p.Name })
	}
	if !slices.ContainsFunc(poses, func(p PoseDoc) bool { return place(p) < 0 }) { // all are written anew: their order holds
		slices.SortStableFunc(poses, func(p, q PoseDoc) int { return place(p) - place(q) })
	}
	own.Poses = poses
	return &own
}

// lay puts targets over others: one of the same name and side replaces.
func lay(base, over []Term) []Term {
	out := slices.Clone(base)
	for _, t := range over {
		if t.Name == DropTarget {
			out = slices.DeleteFunc(out, func(b Term) bool { return b.Name == t.Word })
			continue
		}
		for i, b := range out {
			if b.Name == t.Name && b.Side == NoSide && t.Side != NoSide {
				out[i].Side = 1 - t.Side // what held for both sides now holds for the other
			}
		}
		out = append(slices.DeleteFunc(out, func(b Term) bool {
			return b.Name == t.Name && (b.Side == t.Side || t.Side == NoSide)
		}), t)
	}
	return out
}

// checkPostures refuses postures that lean on what is not there.
func (l *Library) checkPostures(fsys fs.FS) error {
	for _, e := range l.list {
		seen := map[string]bool{}
		for at := e; at.Postures != nil && at.Postures.Like != ""; {
			id := string(at.Postures.Like)
			next := l.byID[id]
			switch {
			case next == nil:
				return l.refusePosture(fsys, e, fmt.Sprintf("no exercise is called %q", id), form.Near(id, l.ids(), 3))
			case next.Postures == nil:
				return l.refusePosture(fsys, e, fmt.Sprintf("%s has no postures to be like", id), nil)
			case seen[id]:
				return l.refusePosture(fsys, e, fmt.Sprintf("%s is like itself in a circle", id), nil)
			}
			seen[id], at = true, next
		}
		if e.Postures != nil && len(l.unfold(e).Poses) == 0 {
			return l.refusePosture(fsys, e, "no pose is written under postures; write at least one under poses", nil)
		}
	}
	return nil
}

// ids lists the ids of the library.
func (l *Library) ids() []string {
	var out []string
	for _, e := range l.list {
		out = append(out, string(e.ID))
	}
	return out
}

// refusePosture points at the `like` of an exercise file.
func (l *Library) refusePosture(fsys fs.FS, e *Exercise, text string, near []string) error {
	name := string(e.ID) + ".yaml"
	src, err := form.ReadFile(fsys, name)
	if err != nil {
		return err
	}
	d, err := form.Open(name, src)
	if err != nil {
		return err
	}
	d.Fill("an exercise", &Exercise{})
	d.RefuseName("postures.like", "wrong-value", text, near)
	return d.Err()
}
