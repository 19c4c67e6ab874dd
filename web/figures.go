package web

import (
	"strings"

	"corbel/practice"
)

// figure sends the figure of an exercise, NAME.svg; a browser may keep it for an hour.
func (s *server) figure(v *visit) error {
	id, ok := strings.CutSuffix(v.PathValue("name"), ".svg")
	if !ok {
		return &practice.Error{Reason: practice.NotFound, Text: "a figure is had as NAME.svg"}
	}
	svg, err := s.practice.Figure(id)
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "image/svg+xml")
	v.w.Header().Set("Cache-Control", "private, max-age=3600")
	_, _ = v.w.Write(svg) // the browser may have gone
	return nil
}
