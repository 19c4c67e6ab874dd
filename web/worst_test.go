package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"unicode/utf8"

	"corbel/examples"
	"corbel/practice"
)

// The worst a practice is asked to hold: a name of 80 characters in two directions, a
// note of 10,000, a block of 12 sessions of 15 exercises.
const (
	worstName     = "Wilhelmine-Alexandra von der Oberen Felsenbrücke-Hohenstaufen 🏔️ נועה בת־אל כהנא"
	worstSessions = 12
	worstSlots    = 15
	worstNote     = 10000 // characters
)

// longNote is a note with letters, emoji, Hebrew and Arabic, without a place to break
// in some of it.
func longNote() string {
	piece := "Sleeps badly 😴, climbs on Fridays 🧗🏽; שיפור בכתף שמאל; تحسّن في الركبة. " + strings.Repeat("x", 120) + " "
	note := []rune(strings.Repeat(piece, worstNote/utf8.RuneCountInString(piece)+1))[:worstNote]
	note[worstNote-1] = '.'
	return string(note)
}

// worst puts the worst client with the worst block.
func worst(t testing.TB, h *house) idsOf {
	t.Helper()
	ctx := context.Background()
	text, err := examples.Files.ReadFile("rosa-client.yaml")
	if err != nil {
		t.Fatal(err)
	}
	c := strings.NewReplacer("id: rosa-l", "id: worst", "name: Rosa Lindqvist", "name: "+practice.Value(worstName),
		"note: Keep the hill runs easy on Tuesdays this month.", "note: "+practice.Value(longNote())).Replace(string(text))
	if _, err := h.Put(ctx, h.coach, practice.ClientDoc, "", c, h.id()); err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "form: 1\nid: worst-b\nname: %s\nclient: worst.yaml\nstart: 2026-11-30\nweeks: 12\nstate: draft\nrevision: 1\nsessions:\n", practice.Value(worstName))
	days := []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}
	list := h.Library.All()
	for s := range worstSessions {
		fmt.Fprintf(&b, "  - id: s%d\n    name: %s\n    day: %s\n    place: garage\n    slots:\n", s, practice.Value(fmt.Sprintf("%s %d", worstName[:40], s)), days[s%7])
		for i := range worstSlots {
			fmt.Fprintf(&b, "      - id: s%d-%d\n        exercise: %s\n        dose: 3 x 8 rir 2\n        rest: 2:00\n", s, i, list[(s*worstSlots+i)%len(list)].ID)
		}
	}
	if _, err := h.Put(ctx, h.coach, practice.BlockDoc, "worst", b.String(), h.id()); err != nil {
		t.Fatal(err)
	}
	return idsOf{client: "worst", block: "worst-b"}
}

// Ensure that the worst is taken in whole, shown whole, and breaks no page: none scrolls
// sideways, axe-core finds nothing.
func TestWorst(t *testing.T) {
	h := open(t)
	ids := worst(t, h)
	if n := utf8.RuneCountInString(worstName); n != 80 {
		t.Fatalf("the worst name has %d characters", n)
	}
	c := h.browser(t, "ida@example.org", "four words of ours")
	if page, status := h.post(t, c, "/blocks/rosa-b2/record", url.Values{"op": {h.id()}, "session": {"a"}, "week": {"1"}, "note": {longNote()}}); status != http.StatusOK {
		t.Errorf("a note of %d characters gave %d: %s", worstNote, status, alertOf(page))
	}
	if doc, err := h.Doc(context.Background(), h.coach, practice.LogDoc, "rosa-l"); err != nil || !strings.Contains(doc.Text, practice.Value(longNote())) {
		t.Errorf("the note of %d characters was not stored whole: %v", worstNote, err)
	}
	p := h.tab(t, h.coach)
	axe := axeScript(t)
	for _, path := range []string{"/", "/clients/worst", "/blocks/worst-b", "/blocks/worst-b/week", "/blocks/worst-b/record?session=s0&week=1", "/blocks/worst-b/hand-over", "/clients/worst/file"} {
		p.size(deskWide)
		p.visit(path)
		js[bool](p, axe+"; true")
		for _, b := range p.axe() {
			t.Errorf("%s: %s: %s\n\t%s", path, b.Rule, b.Help, strings.Join(b.Where, "\n\t"))
		}
		if !strings.Contains(js[string](p, `document.body.innerText + [...document.querySelectorAll("textarea")].map(e => e.value).join("")`), worstName) {
			t.Errorf("%s does not show the whole name", path)
		}
		for _, width := range []int64{deskWide, phoneWide} {
			p.size(width)
			if wide := js[int64](p, `document.documentElement.scrollWidth`); wide > width {
				t.Errorf("%s is %d px wide in a window of %d px: %s", path, wide, width, js[string](p, widest))
			}
		}
	}
	p.visit("/clients/" + ids.client)
	if !strings.Contains(js[string](p, `document.body.innerText`), longNote()[:4000]) {
		t.Error("the page of the client does not show the note whole")
	}
}
