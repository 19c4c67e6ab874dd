package evidence

import (
	"fmt"
	"math"
	"slices"

	"corbel/client"
	"corbel/form"
)

// rivalQuestions are questions about what looks like weakness and is not, by code.
var rivalQuestions = map[string]form.Text{
	"ask-complaint":  {En: "Where does the client say it is, and on which side? Ask that first: it narrows what a test has to tell.", De: "Wo sitzt es nach Angabe des Klienten, und auf welcher Seite? Das zuerst fragen: Es grenzt ein, was ein Test klären muss."},
	"ask-size":       {En: "How large is the difference? Ask for the repetitions in reserve, left and right, after the same load and repetitions: words alone tell little.", De: "Wie groß ist der Unterschied? Nach Wiederholungen in Reserve fragen, links und rechts, bei gleicher Last und Zahl: Worte allein sagen wenig."},
	"shift-range":    {En: "Hip shift: is one ankle or hip stiffer? A heel raised by 2 cm changes the shift if it is the ankle.", De: "Hüftverschiebung: Ist ein Sprunggelenk oder eine Hüfte steifer? Eine 2 cm erhöhte Ferse ändert die Verschiebung, wenn es das Sprunggelenk ist."},
	"shift-habit":    {En: "Hip shift: does it vanish with a mirror or a line on the floor? Then it is habit, stance or bar position. A shift says nearly nothing about which muscle.", De: "Hüftverschiebung: Verschwindet sie mit Spiegel oder Linie am Boden? Dann ist es Gewohnheit, Stand oder Stangenlage. Sie sagt fast nichts darüber, welcher Muskel es ist."},
	"knee-camera":    {En: "Knee line: was the camera square in front? Five degrees of turn alone show 4 to 11 degrees that are not there.", De: "Knielinie: Stand die Kamera genau davor? Schon fünf Grad Drehung zeigen 4 bis 11 Grad, die es nicht gibt."},
	"knee-skill":     {En: "Knee line: does it change at once when the client is told to keep the knee over the second toe? Then it is skill.", De: "Knielinie: Ändert sie sich sofort auf den Hinweis, das Knie über der zweiten Zehe zu halten? Dann ist es Technik."},
	"drop-habit":     {En: "Pelvis drop: is it there with the hands on a wall too, and with shoes changed? If not, think of balance or habit.", De: "Beckenabsinken: Bleibt es auch mit den Händen an der Wand und mit anderen Schuhen? Wenn nicht, an Gleichgewicht oder Gewohnheit denken."},
	"pain-avoidance": {En: "Did pain or the fear of it end a set, rather than strength? Pain acts like weakness in every one of these tests.", De: "Hat Schmerz oder die Angst davor einen Satz beendet statt der Kraft? Schmerz wirkt in all diesen Tests wie Schwäche."},
	"drill-skill":    {En: "Does the client know the drill equally well on both sides? The first time on a side costs repetitions.", De: "Beherrscht der Klient die Übung auf beiden Seiten gleich gut? Das erste Mal auf einer Seite kostet Wiederholungen."},
	"both-sides":     {En: "Weakness that is equal on both sides does not show in a comparison of sides; the ratios of two-sided lifts say a little about it, never about a side.", De: "Schwäche, die auf beiden Seiten gleich ist, zeigt ein Seitenvergleich nicht; Verhältnisse beidseitiger Übungen sagen etwas darüber, nie über eine Seite."},
	"small-rating":   {En: "A point of effort or a repetition in reserve stands for about 3 % of strength, a clear weakness for about 17 %. One to three points of difference say that the sides differ, and speak rather against a clear weakness; as many repetitions as possible on both sides would tell more.", De: "Ein Punkt Anstrengung oder eine Wiederholung in Reserve steht für etwa 3 % Kraft, eine deutliche Schwäche für etwa 17 %. Ein bis drei Punkte Unterschied sagen, dass die Seiten verschieden sind, und sprechen eher gegen eine deutliche Schwäche; so viele Wiederholungen wie möglich auf beiden Seiten klären mehr."},
}

// smallRating is the difference of a reserve or rating that speaks against a clear
// weakness, points (our judgement, key judgement).
const smallRating = 3.0

// rivals lists questions about what is not strength, those of range first.
func (in Input) rivals(all []*Weighed) []Rival {
	out := []Rival{}
	ask := func(code string) {
		if !slices.ContainsFunc(out, func(r Rival) bool { return r.Code == code }) {
			out = append(out, Rival{code, rivalQuestions[code].In(in.Language)})
		}
	}
	complains := false
	for _, w := range all {
		complains = complains || w.Complains != -1
	}
	if !complains {
		ask("ask-complaint")
	}
	for i := range in.Client.Findings {
		if f := &in.Client.Findings[i]; f.Kind == client.ByRange {
			if r, ok := in.rangeDiffers(f); ok {
				out = append(out, r)
			}
		}
	}
	for _, f := range in.Client.Findings {
		switch f.Kind {
		case client.HipShift:
			ask("shift-range")
			ask("shift-habit")
		case client.KneeLine:
			ask("knee-camera")
			ask("knee-skill")
		case client.PelvisDrop:
			ask("drop-habit")
		case client.ByWords:
			ask("ask-size")
		case client.ByReserve, client.ByEffort:
			if l, r, ok := f.Compared(); ok && l != r && math.Abs(l-r) <= smallRating {
				ask("small-rating")
			}
		case client.ByRepetitions, client.ByLoad, client.ByHold:
			ask("drill-skill")
		}
	}
	if slices.ContainsFunc(in.Client.Pain, func(p client.Pain) bool { return p.Until.IsZero() }) || complains {
		ask("pain-avoidance")
	}
	ask("both-sides")
	return out
}

// rangeDiffers says that a range on record differs between sides.
func (in Input) rangeDiffers(f *client.Finding) (Rival, bool) {
	l, r, ok := f.Compared()
	if !ok || math.Abs(l-r) < rangeOpens {
		return Rival{}, false
	}
	return Rival{"range-differs", fmt.Sprintf(in.pick("Range differs: %s, left %.0f, right %.0f degrees. That can shift hip and knee line by itself; settle it before strength is blamed.",
		"Die Beweglichkeit ist verschieden: %s, links %.0f, rechts %.0f Grad. Das allein kann Hüfte und Knie verschieben; zuerst klären, bevor es an der Kraft liegen soll."), f.What, l, r)}, true
}
