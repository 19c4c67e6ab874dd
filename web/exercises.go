package web

import (
	"html/template"
	"net/http"

	"corbel/form"
	"corbel/practice"
	"corbel/sketch"
)

// exercises lists the library, as typed.
func (s *server) exercises(v *visit) error {
	typed := v.FormValue("q") + v.FormValue("exercise") // a board sends what is typed to be added
	data := map[string]any{"Title": v.say("Exercises", "Übungen"), "Rows": s.practice.Exercises(typed, v.language()), "Query": typed}
	if part := v.Header.Get("X-Part"); part == "rows" || part == "picks" {
		s.write(v, http.StatusOK, "exercises", part, data)
		return nil
	}
	s.show(v, http.StatusOK, "exercises", data)
	return nil
}

// exercise shows an exercise with what it asks of a client's body.
func (s *server) exercise(v *visit) error {
	id, owner := v.PathValue("id"), v.FormValue("client")
	e, err := s.practice.Exercise(v.Context(), v.who, id, owner, v.language())
	if err != nil {
		return err
	}
	clients, err := s.practice.Docs(v.Context(), v.who, practice.ClientDoc, "")
	if err != nil {
		return err
	}
	var figure template.HTML
	if len(e.Views) > 0 {
		frames, err := s.practice.Frames(v.Context(), v.who, id, practice.FigureWish{Client: owner, View: sketch.View(v.FormValue("view"))})
		if err != nil && practice.ReasonOf(err) == "" {
			return err
		}
		if err == nil {
			figure = template.HTML(frames[0]) // our own drawing: no text of a client stands in it
		}
	}
	s.show(v, http.StatusOK, "exercise", map[string]any{"Title": e.Of.Name.In(v.language()), "View": e, "Clients": clients, "Owner": owner, "Figure": figure, "From": v.FormValue("view"),
		"Substitutes": s.practice.Substitutes(id, v.language()), "Cues": e.Of.Cues.In(v.language()).List(), "Cautions": e.Of.Cautions.In(v.language())})
	return nil
}

// film sends the pictures of a movement as JSON.
func (s *server) film(v *visit) error {
	frames, err := s.practice.Frames(v.Context(), v.who, v.PathValue("id"), practice.FigureWish{Client: v.FormValue("client"), View: sketch.View(v.FormValue("view")), Frames: filmFrames})
	if err != nil {
		return err
	}
	out := make([]string, len(frames))
	for i, f := range frames {
		out[i] = string(f)
	}
	writeJSON(v.w, http.StatusOK, out)
	return nil
}

// filmFrames is how many pictures a movement is shown in (our judgement).
const filmFrames = 24

// week shows all sessions of a week: muscles by days, lifts, minutes.
func (s *server) week(v *visit) error {
	week := max(number(v.FormValue("week")), 1)
	b, err := s.practice.Board(v.Context(), v.who, v.PathValue("id"), "", week, v.language())
	if err != nil {
		return err
	}
	joints, without, err := s.practice.Joints(v.Context(), v.who, b.Case, week)
	if err != nil {
		return err
	}
	var rows [][5]string
	for _, j := range joints {
		row := [5]string{jointNames[j.Name].In(v.language()), v.number(j.Now.Peak, 0), v.number(j.Now.Work/1000, 1)}
		if j.Before != nil {
			row[3], row[4] = v.number(j.Before.Peak, 0), v.number(j.Before.Work/1000, 1)
		}
		rows = append(rows, row)
	}
	s.show(v, http.StatusOK, "week", map[string]any{"Title": v.say("Week", "Woche"), "Block": b.Case.Block, "Client": b.Case.Client, "Report": b.Report, "Number": week, "Wide": true,
		"Days": s.days(v, b), "Muscles": s.muscleDays(v, b), "Lifts": s.weekLifts(v, b), "Here": problemsOfWeek(b), "Joints": rows, "Without": without})
	return nil
}

// jointNames are the names of joints by language.
var jointNames = map[string]form.Text{
	"ankle": {En: "ankle", De: "Sprunggelenk"}, "knee": {En: "knee", De: "Knie"}, "hip": {En: "hip", De: "Hüfte"},
	"lumbar spine": {En: "lumbar spine", De: "Lendenwirbelsäule"}, "shoulder": {En: "shoulder", De: "Schulter"}, "elbow": {En: "elbow", De: "Ellbogen"},
}
