package plan

import (
	"corbel/client"
	"corbel/form"
)

// A Group is a programme many members follow, renewed by releases. Members are
// not copies of clients: a member is a size, days, a place, answers and
// restrictions, laid over the release they follow.
type Group struct {
	Form     int            `form:"form,required" doc:"version of the form, 1"`
	ID       form.ID        `form:"id,required" doc:"given once"`
	Name     string         `form:"name,required" doc:"as members know it"`
	Language form.Language  `form:"language,required" doc:"language of its sheets"`
	Zone     string         `form:"zone" doc:"time zone of the IANA database"`
	Days     client.Band    `form:"days" doc:"fewest and most sessions a week a member may do"`
	Places   []client.Place `form:"places" doc:"where its sessions can be done"`
	Releases []Release      `form:"releases,required" doc:"blocks of the programme, oldest first"`
	Note     string         `form:"note" doc:"a note to all members"`
	Private  string         `form:"private" doc:"for the coach alone"`
}

// A Release is a block of the programme from a day on.
type Release struct {
	ID    form.ID   `form:"id,required" doc:"given once"`
	On    form.Date `form:"on,required" doc:"first day"`
	Block string    `form:"block,required" doc:"block file, named relative to this file"`
	Note  string    `form:"note" doc:"what is new"`
}

// A Member follows a group programme.
type Member struct {
	Form       int                  `form:"form,required" doc:"version of the form, 1"`
	ID         form.ID              `form:"id,required" doc:"given once"`
	Name       string               `form:"name,required" doc:"as it stands on the sheet"`
	Group      string               `form:"group,required" doc:"group file, named relative to this file"`
	Joined     form.Date            `form:"joined" doc:"first day"`
	Sex        client.Sex           `form:"sex" doc:"used for strength norms only"`
	Born       form.Date            `form:"born" doc:"date of birth"`
	Size       int                  `form:"size" doc:"reference body, 1 (small) to 6 (large); 3 if left out"`
	Experience client.Experience    `form:"experience" doc:"experience with loaded training"`
	Sessions   int                  `form:"sessions" doc:"sessions a week they do, 2 to 6"`
	Place      form.ID              `form:"place" doc:"place of the group they train at"`
	Clearance  client.Clearance     `form:"clearance" doc:"the three questions before training"`
	Flags      []client.Flag        `form:"flags" doc:"answers to the safety questions"`
	Restrict   []client.Restriction `form:"restrictions" doc:"what somebody has ruled out"`
	Pain       []client.Pain        `form:"pain" doc:"where it hurts"`
	Consent    []client.Consent     `form:"consent" doc:"what the member agreed to, and when"`
	Changes    []Change             `form:"changes" doc:"changes laid over the release"`
	Note       string               `form:"note" doc:"a note to the member"`
	Private    string               `form:"private" doc:"for the coach alone"`
}

// AsClient returns the member as a client of the group, so that the same checks
// run on both: the group's places, its language, the member's answers.
func (m *Member) AsClient(g *Group) *client.Client {
	return &client.Client{
		Form: m.Form, ID: m.ID, Name: m.Name, Language: g.Language, Zone: g.Zone,
		Sex: m.Sex, Born: m.Born, Experience: m.Experience, Places: g.Places,
		Clearance: m.Clearance, Flags: m.Flags, Restrict: m.Restrict, Pain: m.Pain, Consent: m.Consent,
		Note: m.Note, Private: m.Private,
	}
}
