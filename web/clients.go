package web

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// to goes to a page after something was done.
func (v *visit) to(page string) error {
	http.Redirect(v.w, v.Request, page, http.StatusSeeOther)
	return nil
}

// clients shows the list of clients, those in need first.
func (s *server) clients(v *visit) error {
	rows, err := s.practice.Clients(v.Context(), v.who, v.FormValue("q"), v.language())
	if err != nil {
		return err
	}
	state := v.FormValue("state")
	rows = slices.DeleteFunc(rows, func(r practice.ClientRow) bool {
		switch state {
		case "":
			return false
		case "need":
			return len(r.Needs) == 0
		case "none":
			return r.BlockID != ""
		}
		return string(r.State) != state
	})
	states := []option{{"", v.say("all", "alle")}, {"need", v.say("who need something", "die etwas brauchen")}, {string(plan.Running), v.say("block running", "Block läuft")},
		{string(plan.HandedOver), v.say("handed over", "übergeben")}, {string(plan.Draft), v.say("draft", "Entwurf")}, {"none", v.say("no block", "ohne Block")}}
	waits := slices.ContainsFunc(rows, func(r practice.ClientRow) bool { return r.Waits })
	data := map[string]any{"Title": v.say("Clients", "Klienten"), "Rows": rows, "Waits": waits, "Query": v.FormValue("q"), "State": state, "States": states}
	if v.Header.Get("X-Part") == "rows" {
		s.write(v, http.StatusOK, "clients", "rows", data)
		return nil
	}
	s.show(v, http.StatusOK, "clients", data)
	return nil
}

// say gives a text in the language of the visit.
func (v *visit) say(en, de string) string { return form.Text{En: en, De: de}.In(v.language()) }

// client shows a client.
func (s *server) client(v *visit) error {
	p, err := s.practice.Person(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	e := s.practice.Evidence(p, v.language())
	s.show(v, http.StatusOK, "client", map[string]any{"Title": p.Client.Name, "Person": p, "Client": p.Client, "Evidence": e,
		"Map":    template.HTML(s.practice.Map(p, e.Assess, "map")), // our own drawing: no text of a client stands in it
		"Limits": limitChart(e.Assess, v.language()), "Facts": s.facts(v, p.Client), "Lifts": s.lifts(v, p.Client), "Today": s.practice.Now().Format("2006-01-02"),
		"Kinds":   options(client.FindingKind("").Values(), kindWords, v.language()),
		"Sources": options(client.FindingSource("").Values(), sourceWords, v.language()), "Library": s.practice.Library.All(),
		"Exercise": func(id string) string { return s.practice.ExerciseName(id, v.language()) }})
	return nil
}

var errCoachAdds = &practice.Error{Reason: practice.Forbidden, Text: "a coach adds clients"}

// newClientPage shows the form of a new client.
func (s *server) newClientPage(v *visit) error {
	if v.who.Role != practice.Coach {
		return errCoachAdds
	}
	s.show(v, http.StatusOK, "new-client", map[string]any{"Title": v.say("New client", "Neuer Klient"), "Form": url.Values{}})
	return nil
}

// newClient makes a client from a name, or from a client file.
func (s *server) newClient(v *visit) error {
	if v.who.Role != practice.Coach {
		return errCoachAdds
	}
	text := v.FormValue("file")
	if strings.TrimSpace(text) == "" {
		name := strings.TrimSpace(v.FormValue("name"))
		text = fmt.Sprintf("form: 1\nid: %s\nname: %s\nlanguage: %s\n", v.FormValue("id"), practice.Value(name), v.FormValue("language"))
	}
	out, err := s.practice.Put(v.Context(), v.who, practice.ClientDoc, "", text, v.FormValue("op"))
	if practice.ReasonOf(err) == practice.Refused || practice.ReasonOf(err) == practice.Conflict {
		s.again(v, "new-client", v.say("New client", "Neuer Klient"), err)
		return nil
	}
	if err != nil {
		return err
	}
	return v.to("/clients/" + out.Doc.ID)
}

// newBlockPage shows the form of a new block.
func (s *server) newBlockPage(v *visit) error {
	p, err := s.practice.Person(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "new-block", map[string]any{"Title": v.say("New block", "Neuer Block"), "Person": p, "Form": url.Values{}, "Library": s.practice.Library.All()})
	return nil
}

// newBlock makes a block of the client: proposed, as the last one, or from a file.
func (s *server) newBlock(v *visit) error {
	owner := v.PathValue("id")
	var out practice.Outcome
	var err error
	if v.FormValue("from") == "file" {
		out, err = s.practice.Put(v.Context(), v.who, practice.BlockDoc, owner, strings.ReplaceAll(v.FormValue("file"), "\r\n", "\n"), v.FormValue("op"))
	} else {
		in := practice.Begin{Name: strings.TrimSpace(v.FormValue("name")), Weeks: number(v.FormValue("weeks")), From: v.FormValue("from"), Exercise: strings.TrimSpace(v.FormValue("exercise")), Dose: strings.TrimSpace(v.FormValue("dose"))}
		if day, e := form.ParseDate(v.FormValue("start")); e == nil {
			in.Start = day
		}
		out, err = s.practice.BeginBlock(v.Context(), v.who, owner, in, v.FormValue("op"))
	}
	if r := practice.ReasonOf(err); r == practice.Refused || r == practice.Conflict {
		p, e := s.practice.Person(v.Context(), v.who, owner)
		if e != nil {
			return e
		}
		s.show(v, statuses[r], "new-block", map[string]any{"Title": v.say("New block", "Neuer Block"), "Person": p, "Form": v.Form, "Library": s.practice.Library.All(), "Error": err})
		return nil
	}
	if err != nil {
		return err
	}
	return v.to("/blocks/" + out.Doc.ID)
}

// intakePage shows the questions before training that are open.
func (s *server) intakePage(v *visit) error {
	p, err := s.practice.Person(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "intake", map[string]any{"Title": v.say("Questions", "Fragen"), "Client": p.Client, "Open": p.Open, "Base": p.Doc.Version})
	return nil
}

// intake stores answers.
func (s *server) intake(v *visit) error {
	if err := v.ParseForm(); err != nil {
		return err
	}
	in := practice.Answers{Clearance: map[string]string{}, Flags: map[string]client.Answer{}}
	for name := range v.Form {
		kind, id, ok := strings.Cut(name, " ")
		switch value := v.Form.Get(name); {
		case !ok || value == "":
		case kind == "clearance":
			in.Clearance[id] = value
		case kind == "flag":
			in.Flags[id] = client.Answer(value)
		case kind == "group":
			in.Groups = append(in.Groups, id)
		}
	}
	slices.Sort(in.Groups)
	if err := s.practice.Answer(v.Context(), v.who, v.PathValue("id"), in, v.FormValue("op")); err != nil {
		return err
	}
	return v.to("/clients/" + v.PathValue("id") + "/intake")
}

// finding adds a finding.
func (s *server) finding(v *visit) error {
	f := client.Finding{What: strings.TrimSpace(v.FormValue("what")), Kind: client.FindingKind(v.FormValue("kind")), Exercise: strings.TrimSpace(v.FormValue("exercise")),
		Side: anatomy.Side(v.FormValue("side")), Left: strings.TrimSpace(v.FormValue("left")), Right: strings.TrimSpace(v.FormValue("right")),
		Source: client.FindingSource(v.FormValue("source")), By: v.who.Name}
	var err error
	if f.On, err = form.ParseDate(v.FormValue("on")); err != nil {
		return &practice.Error{Reason: practice.Refused, At: "on", Text: err.Error()}
	}
	if err := s.practice.AddFinding(v.Context(), v.who, v.PathValue("id"), f, v.FormValue("op")); err != nil {
		return err
	}
	return v.to("/clients/" + v.PathValue("id"))
}

// filePage shows a document as the file it is.
func (s *server) filePage(kind practice.Kind) handler {
	return func(v *visit) error {
		doc, err := s.practice.Doc(v.Context(), v.who, kind, v.PathValue("id"))
		if err != nil {
			return err
		}
		if v.FormValue("download") != "" {
			v.w.Header().Set("Content-Type", "text/yaml; charset=utf-8")
			v.w.Header().Set("Content-Disposition", `attachment; filename="`+string(kind)+"-"+doc.ID+`.yaml"`)
			_, _ = v.w.Write([]byte(doc.Text)) // the browser may have gone
			return nil
		}
		s.show(v, http.StatusOK, "file", map[string]any{"Title": doc.Name, "Doc": doc, "Text": doc.Text, "Base": doc.Version})
		return nil
	}
}

// file stores a document written over as a file.
func (s *server) file(kind practice.Kind) handler {
	return func(v *visit) error {
		id := v.PathValue("id")
		base, text := number(v.FormValue("base")), strings.ReplaceAll(v.FormValue("file"), "\r\n", "\n")
		_, err := s.practice.Rewrite(v.Context(), v.who, kind, id, base, text, v.FormValue("op"))
		switch practice.ReasonOf(err) {
		case practice.Refused, practice.Conflict:
			doc, e := s.practice.Doc(v.Context(), v.who, kind, id)
			if e != nil {
				return e
			}
			s.show(v, statuses[practice.ReasonOf(err)], "file", map[string]any{"Title": doc.Name, "Doc": doc, "Text": text, "Base": base, "Error": err})
			return nil
		}
		if err != nil {
			return err
		}
		return v.to("/" + string(kind) + "s/" + id)
	}
}

// erase takes everything about a client out.
func (s *server) erase(v *visit) error {
	if v.FormValue("sure") != v.PathValue("id") {
		return &practice.Error{Reason: practice.Refused, At: "sure", Text: "type the id of the client to erase them; nothing was erased"}
	}
	if err := s.practice.Erase(v.Context(), v.who, v.PathValue("id")); err != nil {
		return err
	}
	return v.to("/")
}

// undo takes back the account's last change of a document.
func (s *server) undo(kind practice.Kind) handler {
	return func(v *visit) error {
		id := v.PathValue("id")
		if _, err := s.practice.Undo(v.Context(), v.who, kind, id, v.FormValue("op")); err != nil {
			return err
		}
		return v.to("/" + string(kind) + "s/" + id)
	}
}

// settings shows accounts, devices and the audit.
func (s *server) settings(v *visit) error {
	view, err := s.practice.Settings(v.Context(), v.who)
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "settings", map[string]any{"Title": v.say("Settings", "Einstellungen"), "View": view, "Login": v.login})
	return nil
}

// addAccount adds an account.
func (s *server) addAccount(v *visit) error {
	if _, err := s.practice.AddAccount(v.Context(), v.who, v.FormValue("name"), v.FormValue("email"), v.FormValue("passphrase"), practice.Role(v.FormValue("role"))); err != nil {
		return err
	}
	return v.to("/settings")
}

// access says which clients an assistant works with.
func (s *server) access(v *visit) error {
	account := v.FormValue("account") // reads the form
	if err := s.practice.SetAccess(v.Context(), v.who, account, v.Form["client"]); err != nil {
		return err
	}
	return v.to("/settings")
}

// language sets the language of the account.
func (s *server) language(v *visit) error {
	if err := s.practice.SetLanguage(v.Context(), v.who, form.Language(v.FormValue("language"))); err != nil {
		return err
	}
	return v.to("/settings")
}

// signOut signs a device of the account out.
func (s *server) signOut(v *visit) error {
	hash := v.FormValue("device")
	if hash == "" {
		hash = v.login.Hash
	}
	if err := s.practice.SignOut(v.Context(), v.who, hash); err != nil {
		return err
	}
	return v.to("/settings")
}
