package web_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"corbel/practice"
)

// Ensure that a change of many shows each difference first, is made for all, and is
// taken back at one go.
func TestManyInTheBrowser(t *testing.T) {
	h := open(t)
	p := h.tab(t, h.coach)
	p.visit("/many")
	before := h.blockOf(t, "rosa-b2")
	p.run(chromedp.Click("#all"), chromedp.Click("input[value=note]"))
	p.until(`!document.querySelector("[data-for=note]").hidden && document.querySelector("[data-for=swap]").hidden`)
	p.run(chromedp.SendKeys("textarea[name=note]", "The hall is closed on 24 December."), chromedp.Click("#many > .row button"))
	p.until(`document.querySelector("[name=sure]")`)
	if got := js[string](p, `document.querySelector("main").innerText`); !strings.Contains(got, "3 clients") || strings.Count(got, "The hall is closed on 24 December.") < 3 {
		t.Errorf("the preview says %.400q", got)
	}
	if h.blockOf(t, "rosa-b2").Note != before.Note {
		t.Error("the preview wrote something")
	}
	p.run(chromedp.Click("[name=sure]"))
	p.until(`document.querySelector("form[action='/many/undo']")`)
	for _, id := range []string{"rosa-b2", "tomas-b1", "mila-b1"} {
		if note := h.blockOf(t, id).Note; !strings.Contains(note, "24 December") {
			t.Errorf("%s has the note %q", id, note)
		}
	}
	p.keys("u")
	p.until(`document.querySelector("[role=status]")?.innerText.includes("Taken back for 3")`)
	if h.blockOf(t, "rosa-b2").Note != before.Note {
		t.Error("the note was not taken back")
	}
}

// Ensure that a change of many asked for on an older version of a block is refused, and
// that nothing is made then.
func TestManyMeanwhile(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	form := url.Values{"do": {"note"}, "note": {"closed"}, "client": {"rosa-l", "tomas-f"}, "op": {h.id()}, "sure": {"yes"}, "seen rosa-l": {"1"}, "seen tomas-f": {"1"}}
	h.typed(t, "rosa-b2", "3 x 14")
	page, status := h.post(t, c, "/many", form)
	if status != http.StatusConflict || !strings.Contains(page, "was changed since you looked") {
		t.Errorf("an older preview gave %d", status)
	}
	if h.blockOf(t, "tomas-b1").Note == "closed" {
		t.Error("one of the two was changed")
	}
}

// typed writes a dose into week 1 of the first exercise of a block.
func (h *house) typed(t *testing.T, block, dose string) {
	t.Helper()
	slot := h.blockOf(t, block).Sessions[0].Slots[0]
	if _, err := h.Type(t.Context(), h.coach, block, h.id(), h.versionOf(t, block), []practice.CellEdit{{Slot: string(slot.ID), Field: "dose", Was: slot.Dose.String(), To: dose}}); err != nil {
		t.Fatal(err)
	}
}

// Ensure that a session is copied to another client with what they cannot do listed,
// and kept by name for later.
func TestCopyInTheBrowser(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	page, _ := h.get(t, c, "/blocks/rosa-b2/copy")
	if !strings.Contains(page, `value="session b"`) || !strings.Contains(page, `value="week 2"`) {
		t.Fatal("the page of copying does not offer sessions and weeks")
	}
	form := url.Values{"do": {"copy"}, "block": {"rosa-b2"}, "what": {"session b"}, "client": {"tomas-f", "mila-r"}, "op": {h.id()}}
	page, status := h.post(t, c, "/many", form)
	if status != http.StatusOK || !strings.Contains(page, "new session") || !regexp.MustCompile(`class="note (stop|settle)"`).MatchString(page) {
		t.Errorf("the preview of a copy gave %d and names no problem", status)
	}
	form.Set("sure", "yes")
	n := len(h.blockOf(t, "tomas-b1").Sessions)
	if _, status := h.post(t, c, "/many", form); status != http.StatusOK {
		t.Errorf("copying gave %d", status)
	}
	if got := len(h.blockOf(t, "tomas-b1").Sessions); got != n+1 {
		t.Errorf("there are %d sessions after the copy, not %d", got, n+1)
	}
	h.post(t, c, "/blocks/rosa-b2/keep-session", url.Values{"session": {"b"}, "name": {"Pushing <b>&"}, "op": {h.id()}})
	page, _ = h.get(t, c, "/many?do=copy")
	if !strings.Contains(page, "Pushing &lt;b&gt;&amp;") {
		t.Error("the kept session is not offered")
	}
	id := regexp.MustCompile(`value="kept ([^"]+)"`).FindStringSubmatch(page)
	page, status = h.post(t, c, "/many", url.Values{"do": {"copy"}, "what": {"kept " + id[1]}, "client": {"mila-r"}, "op": {h.id()}, "sure": {"yes"}})
	if status != http.StatusOK || !strings.Contains(page, "Done for 1") {
		t.Errorf("copying a kept session gave %d", status)
	}
	if _, status := h.post(t, c, "/sessions/"+id[1]+"/drop", nil); status != http.StatusOK {
		t.Errorf("taking a kept session out gave %d", status)
	}
}

// Ensure that a pause in mid-block is shown before it is laid over the block, and taken
// back.
func TestChangeMidwayInTheBrowser(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	form := url.Values{"do": {"pause"}, "on": {"2026-12-07"}, "until": {"2026-12-20"}, "why": {"a cold"}, "op": {h.id()}}
	page, status := h.post(t, c, "/blocks/rosa-b2/change", form)
	if status != http.StatusOK || !strings.Contains(page, "0 sessions, 0 sets") || !strings.Contains(page, "one step lighter") {
		t.Errorf("the preview of a pause gave %d", status)
	}
	if n := len(h.blockOf(t, "rosa-b2").Changes); n != 0 {
		t.Errorf("the preview laid %d changes", n)
	}
	form.Set("sure", "yes")
	if page, status := h.post(t, c, "/blocks/rosa-b2/change", form); status != http.StatusOK || !strings.Contains(page, "a cold") {
		t.Errorf("laying a pause gave %d", status)
	}
	if n := len(h.blockOf(t, "rosa-b2").Changes); n == 0 {
		t.Error("no change was laid")
	}
	h.post(t, c, "/blocks/rosa-b2/undo", url.Values{"op": {h.id()}})
	if n := len(h.blockOf(t, "rosa-b2").Changes); n != 0 {
		t.Errorf("%d changes are left after undo", n)
	}
	form = url.Values{"do": {"pause"}, "on": {"2026-11-30"}, "until": {"2026-12-12"}, "why": {"a cold"}}
	if page, _ := h.post(t, c, "/blocks/mila-b1/change", form); !strings.Contains(page, " lb ") || regexp.MustCompile(`\d\.\d{4,} kg`).MatchString(page) {
		t.Error("a lighter load is not in the unit the coach wrote")
	}
	for name, bad := range map[string]url.Values{"until": {"do": {"pause"}, "on": {"2026-12-07"}, "why": {"a cold"}}, "a sentence": {"do": {"pause"}, "on": {"2026-12-07"}, "until": {"2026-12-08"}},
		"no session is left": {"do": {"pause"}, "on": {"2026-12-12"}, "until": {"2026-12-12"}, "why": {"x"}}} {
		if page, status := h.post(t, c, "/blocks/rosa-b2/change", bad); status != http.StatusUnprocessableEntity || !strings.Contains(page, `role="alert"`) {
			t.Errorf("%s: gave %d", name, status)
		}
	}
}

// Ensure that an assistant changes nothing of clients of others, many at once or not.
func TestManyOfOthers(t *testing.T) {
	h, none, mila, _, _, _ := guarded(t)
	before := h.texts(t)
	for who, c := range map[string]*http.Client{"an assistant of nobody": none, "an assistant of somebody else": mila} {
		form := url.Values{"do": {"note"}, "note": {"taken over"}, "client": {"rosa-l", "tomas-f"}, "op": {h.id()}, "sure": {"yes"}, "seen rosa-l": {"1"}, "seen tomas-f": {"1"}}
		if page, status := h.post(t, c, "/many", form); status == http.StatusOK || strings.Contains(page, "Lindqvist") {
			t.Errorf("%s changed many: %d", who, status)
		}
		if page, _ := h.get(t, c, "/many"); strings.Contains(page, "Lindqvist") {
			t.Errorf("%s is shown a client of others", who)
		}
	}
	if h.texts(t) != before {
		t.Error("a request that was refused changed a document")
	}
}
