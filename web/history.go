package web

import (
	"net/http"

	"corbel/practice"
)

// history lists the changes of a block, and what stands in it now against a version.
func (s *server) history(v *visit) error {
	c, err := s.practice.Open(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	list, err := s.practice.History(v.Context(), v.who, practice.BlockDoc, c.Doc.ID)
	if err != nil {
		return err
	}
	data := map[string]any{"Title": v.say("Changes", "Änderungen"), "Block": c.Block, "Client": c.Client, "Past": list, "Version": c.Doc.Version}
	if at := number(v.FormValue("against")); at > 0 && at < c.Doc.Version {
		before, err := s.practice.TextAt(v.Context(), v.who, practice.BlockDoc, c.Doc.ID, at)
		if err != nil {
			return err
		}
		data["Against"], data["Edits"] = at, practice.Diff(practice.TakeApart(before), practice.TakeApart(c.Doc.Text))
	}
	s.show(v, http.StatusOK, "history", data)
	return nil
}

// version says at which version a block is, so that a page can tell that somebody
// else changed it.
func (s *server) version(v *visit) error {
	doc, err := s.practice.Doc(v.Context(), v.who, practice.BlockDoc, v.PathValue("id"))
	if err != nil {
		return err
	}
	writeJSON(v.w, http.StatusOK, map[string]int{"version": doc.Version})
	return nil
}
