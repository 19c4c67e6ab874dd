package web

import (
	"bytes"
	"embed"
	"encoding/json"
	"html/template"
	"maps"
	"math"
	"net/http"
	"path"
	"strings"
	"time"

	"corbel/check"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

//go:embed pages
var pageFiles embed.FS

// pages are the pages of one language by name.
type pages map[string]*template.Template

// readPages reads every page in every language, once. A page that cannot be read is
// our mistake.
func readPages(p *practice.Practice) map[form.Language]pages {
	out := map[form.Language]pages{}
	names, err := pageFiles.ReadDir("pages")
	if err != nil {
		panic("web: the pages are not there")
	}
	for _, l := range []form.Language{form.English, form.German} {
		out[l] = pages{}
		for _, n := range names {
			name := strings.TrimSuffix(n.Name(), path.Ext(n.Name()))
			if name == "frame" || name == "checks" || name == "bars" {
				continue
			}
			out[l][name] = template.Must(template.New("frame.html").Funcs(words(l)).Funcs(template.FuncMap{"exercise": func(id string) string { return p.ExerciseName(id, l) }, "drawn": p.Drawn}).ParseFS(pageFiles, "pages/frame.html", "pages/checks.html", "pages/bars.html", "pages/"+n.Name()))
		}
	}
	return out
}

// words are the functions a page may call: t gives a text of its language.
func words(l form.Language) template.FuncMap {
	pick := func(en, de string) string { return form.Text{En: en, De: de}.In(l) }
	out := moreWords(l)
	maps.Copy(out, barWords(l))
	maps.Copy(out, template.FuncMap{
		"t":        pick,
		"lang":     func() string { return string(l) },
		"op":       newID,
		"severity": func(s check.Severity) string { return s.In(l) },
		"day":      func(d client.Weekday) string { return d.In(l) },
		"date": func(d form.Date) string {
			if d.IsZero() {
				return "–"
			}
			return d.Time().Format(form.Text{En: "2 Jan 2006", De: "02.01.2006"}.In(l))
		},
		"time": func(t time.Time) string { return t.UTC().Format("2006-01-02 15:04 UTC") },
		"state": func(s plan.State) string {
			return map[plan.State]string{plan.Draft: pick("draft", "Entwurf"), plan.HandedOver: pick("handed over", "übergeben"),
				plan.Running: pick("running", "läuft"), plan.Closed: pick("closed", "abgeschlossen")}[s]
		},
		"sentence": func(key string) string { return client.Sentence(key, l) },
		"in":       func(v interface{ In(form.Language) string }) string { return v.In(l) },
		"fix":      func(b *plan.Block, f check.Fix) string { return check.FixName(b, f) },
		"num": func(x float64) string {
			if x == math.Trunc(x) {
				return decimal(x, 0, l)
			}
			return decimal(x, 1, l)
		},
		"deref": func(x *float64) float64 { return *x },
		"join":  strings.Join,
	})
	return out
}

// language returns the language of an account, or what the browser asks for.
func (v *visit) language() form.Language {
	if v.who != nil && v.who.Language == form.German || v.who == nil && strings.HasPrefix(strings.ToLower(v.Header.Get("Accept-Language")), "de") {
		return form.German
	}
	return form.English
}

// show writes a page.
func (s *server) show(v *visit, status int, name string, data map[string]any) {
	s.write(v, status, name, "frame.html", data)
}

// write writes a page or a part of one. It is made whole before it is sent.
func (s *server) write(v *visit, status int, name, part string, data map[string]any) {
	data["Who"] = v.who
	data["Path"] = v.URL.Path
	if data["Error"] == nil {
		data["Error"] = false
	}
	var b bytes.Buffer
	if err := s.pages[v.language()][name].ExecuteTemplate(&b, part, data); err != nil {
		s.options.Log.Error("a page could not be made", "page", name, "error", err)
		http.Error(v.w, "the page could not be made", http.StatusInternalServerError)
		return
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	v.w.WriteHeader(status)
	_, _ = b.WriteTo(v.w) // the browser may have gone
}

func writeJSON(w http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		panic("web: an answer cannot be written")
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(b) // the browser may have gone
}
