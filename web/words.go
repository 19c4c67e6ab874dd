package web

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/evidence"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// moreWords are the functions of pages that turn what was computed into words.
func moreWords(l form.Language) template.FuncMap {
	pick := func(en, de string) string { return form.Text{En: en, De: de}.In(l) }
	num := func(x float64, digits int) string { return decimal(x, digits, l) }
	return template.FuncMap{
		"place":    func(b *plan.Block, at check.At) string { return placeWords(b, at, pick) },
		"keepable": func(p check.Problem) bool { return p.Keepable() },
		"kept": func(r *check.Report) (out []check.Problem) {
			for _, p := range r.Problems {
				if p.Kept != "" {
					out = append(out, p)
				}
			}
			return out
		},
		"shown": func(m check.MuscleReport) bool {
			return m.Direct+m.Indirect >= 0.5 || m.AimLow != nil || m.Cap != nil
		},
		"muscle": func(m check.MuscleReport) string {
			return anatomy.MuscleSide{Muscle: anatomy.Muscle(m.Muscle), Side: anatomy.Side(m.Side)}.In(l)
		},
		"sets": func(m check.MuscleReport) string { return num(m.Direct+m.Indirect, 1) },
		"aim": func(m check.MuscleReport) string {
			var out []string
			if m.AimLow != nil && m.AimHigh != nil {
				out = append(out, num(*m.AimLow, 0)+"–"+num(*m.AimHigh, 0))
			}
			if m.Cap != nil {
				out = append(out, pick("at most ", "höchstens ")+num(*m.Cap, 0))
			}
			return strings.Join(out, ", ")
		},
		"minutes": func(r *check.Report, s *plan.Session) string {
			for _, x := range r.Sessions {
				if x.ID == string(s.ID) && x.Week == 1 {
					return num(x.Minutes, 0) + " min"
				}
			}
			return ""
		},
		"weeks": func(b *plan.Block) (out []int) {
			for w := 1; w <= b.Weeks; w++ {
				out = append(out, w)
			}
			return out
		},
		"setkey": func(r practice.SetRow) string {
			return strings.TrimSpace(fmt.Sprintf("set %s %d %s", r.Slot, r.Set, r.Side))
		},
		"places": func() []string { return anatomy.Place("").Values() },
		"spot":   func(p string) string { return anatomy.Place(p).In(l) },
		"home": func(b *plan.Block, c *client.Client) string {
			if b.Group != "" {
				return "/groups/" + strings.TrimSuffix(b.Group, ".yaml")
			}
			return "/clients/" + string(c.ID)
		},
		"formats": func() []string { return []string{"html", "pdf", "xlsx", "ics", "csv", "json"} },
		"role": func(r practice.Role) string {
			return map[practice.Role]string{practice.Coach: pick("coach", "Trainer"), practice.Assistant: pick("assistant", "Assistenz")}[r]
		},
		"answer": func(a string) string {
			if t, ok := answerWords[a]; ok {
				return t.In(l)
			}
			return a
		},
		"group": func(x evidence.Limit) string { return evidence.GroupName(x.Groups, x.Side, l) },
		"signed": func(x float64) string {
			return fmt.Sprintf("%s%s", map[bool]string{true: "−", false: "+"}[x < 0], num(math.Abs(x), 1))
		},
		"bits": func(x float64) string { return num(x, 2) },
		"expected": func(e evidence.Expected, t evidence.NextTest) string {
			unit := pick("repetitions", "Wiederholungen")
			if t.Unit == "percent" {
				unit = "%"
			}
			return fmt.Sprintf(pick("%s: right less left %s (%s to %s) %s", "%s: rechts minus links %s (%s bis %s) %s"), e.Hypothesis, num(e.Result, 1), num(e.Low, 1), num(e.High, 1), unit)
		},
		"band": func(c evidence.Change) string {
			low, high := c.Range()
			return fmt.Sprintf(pick("%s %% (%s to %s)", "%s %% (%s bis %s)"), num(c.Change, 1), num(low, 1), num(high, 1))
		},
		"verdict": func(c evidence.Change) string { return c.Verdict.In(l) },
		"fitstate": func(s string) string {
			return map[string]string{"typical": pick("typical values", "übliche Werte"), "settling": pick("settling", "wird genauer"), "personal": pick("personal", "persönlich")}[s]
		},
		"finding": func(f client.Finding) string { return findingWords(f, l) },
	}
}

// decimal writes a number as a language does.
func decimal(x float64, digits int, l form.Language) string {
	text := strconv.FormatFloat(x, 'f', digits, 64)
	if l == form.German {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}

// answerWords are the answers of the screening.
var answerWords = map[string]form.Text{
	"yes": {En: "yes", De: "ja"}, "no": {En: "no", De: "nein"},
	"light": {En: "light", De: "leicht"}, "moderate": {En: "moderate", De: "mittel"}, "vigorous": {En: "vigorous", De: "anstrengend"},
}

// placeWords says where a problem lies: week, session and exercise.
func placeWords(b *plan.Block, at check.At, pick func(en, de string) string) string {
	var out []string
	for i := range b.Sessions {
		if string(b.Sessions[i].ID) == at.Session {
			out = append(out, b.Sessions[i].Name)
		}
	}
	if at.Week > 0 {
		out = append(out, fmt.Sprintf(pick("week %d", "Woche %d"), at.Week))
	}
	if at.Set > 0 {
		out = append(out, fmt.Sprintf(pick("set %d", "Satz %d"), at.Set))
	}
	return strings.Join(out, " · ")
}

// findingWords says what was measured on each side, and how.
func findingWords(f client.Finding, l form.Language) string {
	pick := func(en, de string) string { return form.Text{En: en, De: de}.In(l) }
	var out []string
	if f.Left != "" || f.Right != "" {
		out = append(out, fmt.Sprintf(pick("left %s, right %s", "links %s, rechts %s"), f.Left, f.Right))
	}
	if f.Value != "" {
		text := f.Value
		if f.Error != "" {
			text += " ± " + f.Error
		}
		out = append(out, text)
	}
	if f.Side != "" {
		out = append(out, f.Side.In(l))
	}
	if t, ok := sourceWords[string(f.Source)]; ok {
		out = append(out, t.In(l))
	}
	return strings.Join(out, " · ")
}

// sourceWords are the ways a finding came about.
var sourceWords = map[string]form.Text{
	"video": {En: "from a video", De: "aus einem Video"}, "client": {En: "said by the client", De: "vom Klienten gesagt"}, "coach": {En: "seen by the coach", De: "vom Trainer gesehen"},
	"practitioner": {En: "from a practitioner", De: "von einer Fachperson"}, "test": {En: "by a test", De: "durch einen Test"}, "log": {En: "from the log", De: "aus dem Protokoll"},
}

// kindWords are the kinds of findings, as a coach says them.
var kindWords = map[client.FindingKind]form.Text{
	client.ByRepetitions: {En: "repetitions possible, left and right", De: "mögliche Wiederholungen, links und rechts"},
	client.ByLoad:        {En: "load at equal effort, left and right", De: "Last bei gleicher Anstrengung, links und rechts"},
	client.ByHold:        {En: "hold time, left and right", De: "Haltezeit, links und rechts"},
	client.ByReserve:     {En: "reserve left over, left and right", De: "übrige Reserve, links und rechts"},
	client.ByEffort:      {En: "effort 0 to 10, left and right", De: "Anstrengung 0 bis 10, links und rechts"},
	client.ByWords:       {En: "one side was harder", De: "eine Seite war schwerer"},
	client.HipShift:      {En: "hips shift to a side", De: "Hüfte weicht zur Seite"},
	client.KneeLine:      {En: "knee runs in", De: "Knie läuft nach innen"},
	client.PelvisDrop:    {En: "pelvis drops in single stance", De: "Becken sinkt im Einbeinstand"},
	client.ByRange:       {En: "range of a joint, left and right", De: "Gelenkumfang, links und rechts"},
	client.Complained:    {En: "where the client says it is", De: "wo der Klient es spürt"},
}

// An option is a choice in a form.
type option struct{ Key, Name string }

// options lists choices in the order of their keys.
func options[K ~string](keys []string, words map[K]form.Text, l form.Language) (out []option) {
	for _, k := range keys {
		name := k
		if t, ok := words[K(k)]; ok {
			name = t.In(l)
		}
		out = append(out, option{k, name})
	}
	return out
}
