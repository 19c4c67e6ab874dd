package web

import (
	"net/http"
	"slices"

	"corbel/plan"
	"corbel/practice"
)

// groups lists the group programmes.
func (s *server) groups(v *visit) error {
	docs, err := s.practice.Docs(v.Context(), v.who, practice.GroupDoc, "")
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "groups", map[string]any{"Title": v.say("Groups", "Gruppen"), "Groups": docs})
	return nil
}

// group shows a group programme: its blocks, and its members with what they need.
func (s *server) group(v *visit) error {
	doc, err := s.practice.Doc(v.Context(), v.who, practice.GroupDoc, v.PathValue("id"))
	if err != nil {
		return err
	}
	g, err := plan.ReadGroup("group", []byte(doc.Text))
	if err != nil {
		return err
	}
	rows, err := s.practice.Clients(v.Context(), v.who, "", v.language())
	if err != nil {
		return err
	}
	rows = slices.DeleteFunc(rows, func(r practice.ClientRow) bool { return r.Group != doc.ID })
	blocks, err := s.practice.Docs(v.Context(), v.who, practice.BlockDoc, doc.ID)
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "group", map[string]any{"Title": g.Name, "Group": g, "Rows": rows, "Blocks": blocks})
	return nil
}

// handOverGroup hands a block over to every member for whom no stop stands.
func (s *server) handOverGroup(v *visit) error {
	given, err := s.practice.HandOverGroup(v.Context(), v.who, v.FormValue("block"), v.FormValue("op"))
	if err != nil {
		return err
	}
	doc, err := s.practice.Doc(v.Context(), v.who, practice.GroupDoc, v.PathValue("id"))
	if err != nil {
		return err
	}
	s.show(v, http.StatusOK, "given", map[string]any{"Title": v.say("Handed over", "Übergeben"), "Doc": doc, "Given": given})
	return nil
}

// member goes to the page of somebody, which clients and members share.
func (s *server) member(v *visit) error { return v.to("/clients/" + v.PathValue("id")) }
