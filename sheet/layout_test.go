package sheet

import (
	"bytes"
	"fmt"
	"io/fs"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"corbel/client"
	"corbel/examples"
	"corbel/exercise"
	"corbel/figure"
	"corbel/form"
	"corbel/plan"
)

// example reads one example block with its client.
func example(t testing.TB, name string) (*plan.Block, *client.Client) {
	t.Helper()
	src, err := fs.ReadFile(examples.Files, name+"-block.yaml")
	if err != nil {
		t.Fatal(err)
	}
	b, err := plan.ReadBlock(name, src, exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	src, err = fs.ReadFile(examples.Files, b.Client)
	if err != nil {
		t.Fatal(err)
	}
	c, err := client.Read(name, src, exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	return b, c
}

// worst is a block that strains the page: sessions of 12 exercises, long names
// and notes, links, measures, supersets, sides, six sets.
func worst(t testing.TB) (*plan.Block, *client.Client) {
	t.Helper()
	b, c := example(t, "rosa")
	b = b.Clone()
	b.Name = "Steady preparation for the long autumn descents, second part"
	b.For = strings.Repeat("A long sentence about what all of this is for. ", 6)
	var ids []string
	for _, e := range exercise.Shipped.All() {
		if len(e.Name.De) >= 22 || len(e.Name.En) >= 22 {
			ids = append(ids, string(e.ID))
		}
	}
	for i := range b.Sessions {
		s := &b.Sessions[i]
		s.Name = fmt.Sprintf("Session of forty characters and some more %d", i)
		s.Slots = nil
		for j := range 12 {
			dose, err := plan.ParseDose([]string{"6 x 8-10/side @ 72.5% rir 2-3 tempo 3-1-2-0 weak side first", "left 3 x 10 @ 12.5 kg/hand rir 3, right 2 x 10 @ 15 kg/hand rir 3", "3 x max @ band extra heavy long", "3 x 40 m @ 2 x 24 kg"}[j%4])
			if err != nil {
				t.Fatal(err)
			}
			slot := plan.Slot{ID: form.ID(fmt.Sprintf("s%dx%d", i, j)), Exercise: ids[(i*12+j)%len(ids)], Dose: dose,
				Measure: "reserve both sides, rating", Note: "A note of some length that wraps over the lines of the column.",
				Link: "https://example.invalid/a/rather/long/path/to/a/tutorial?with=parameters"}
			s.Slots = append(s.Slots, slot)
		}
		for j := 1; j < 12; j++ {
			s.Slots[j-1].Reasons = append(s.Slots[j-1].Reasons, plan.Reason{Prepare: s.Slots[j].ID, Because: "Because it gets the next one going, and that is what we are after here."})
		}
		s.Slots[2].Superset, s.Slots[3].Superset = "A", "A"
	}
	return b, c
}

// Ensure that every text lies inside the page, that no two texts overlap, that
// every box lies inside the page, and that no text crosses a box to write in: on
// both papers, in both languages, with and without figures, typical and worst.
func TestTextsLieApart(t *testing.T) {
	for _, name := range []string{"rosa", "tomas", "mila", "worst"} {
		var b *plan.Block
		var c *client.Client
		if name == "worst" {
			b, c = worst(t)
		} else {
			b, c = example(t, name)
		}
		for _, l := range []form.Language{form.English, form.German} {
			for _, weeks := range [][]int{nil, {2}} {
				content := NewContent(b, c, exercise.Shipped, l, weeks, "R3-ABC234")
				for _, paper := range []figure.Paper{figure.A4, figure.Letter} {
					for _, figures := range []bool{true, false} {
						if testing.Short() && (!figures || weeks != nil) {
							continue
						}
						doc := Lay(content, PaperOptions{paper, figures})
						if _, err := figure.PDF(doc, time.Unix(0, 0)); err != nil {
							t.Error(err)
						}
						for i, p := range doc.Pages {
							checkPage(t, fmt.Sprintf("%s %s %s figures %v weeks %v page %d", name, paper.Name, l, figures, weeks, i+1), p, paper)
						}
					}
				}
			}
		}
	}
}

// Ensure that a block of twelve weeks goes on pages of at most five weeks each, with
// every week once, and that nothing on them overlaps.
func TestManyWeeks(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	b.Weeks = 12
	content := NewContent(b, c, exercise.Shipped, form.English, nil, "")
	doc := Lay(content, PaperOptions{figure.A4, true})
	heads := map[string]int{}
	for i, p := range doc.Pages {
		checkPage(t, fmt.Sprintf("page %d", i+1), p, figure.A4)
		for _, x := range p.Texts {
			if strings.HasPrefix(x.Text, "Week ") {
				heads[x.Text]++
			}
		}
	}
	for w := 1; w <= 12; w++ {
		if n := heads[fmt.Sprintf("Week %d", w)]; n < len(b.Sessions) {
			t.Errorf("week %d stands over %d sessions, want %d", w, n, len(b.Sessions))
		}
	}
}

// Ensure that the typical session fits one page on either paper, and that the
// foot of a session never stands on a page of its own.
func TestPagesBreakWell(t *testing.T) {
	for _, name := range []string{"rosa", "tomas", "worst"} {
		b, c := example(t, "rosa")
		if name == "worst" {
			b, c = worst(t)
		} else if name == "tomas" {
			b, c = example(t, "tomas")
		}
		for _, l := range []form.Language{form.English, form.German} {
			content := NewContent(b, c, exercise.Shipped, l, nil, "")
			pages := Lay(content, PaperOptions{figure.A4, true}).Pages
			letter := Lay(content, PaperOptions{figure.Letter, true}).Pages
			if want := len(b.Sessions) + 2; name != "worst" && (len(pages) != want || len(letter) != want) {
				t.Errorf("%s %s: %d pages of A4 and %d of Letter for %d sessions", name, l, len(pages), len(letter), len(b.Sessions))
			}
			first := ""
			for _, x := range pages[0].Texts {
				first += x.Text
			}
			for _, x := range content.Cautions {
				if !strings.Contains(squeeze(first), squeeze(x)) {
					t.Errorf("%s %s: the first page lacks %q", name, l, x)
				}
			}
			for i, p := range pages {
				head := p.Texts[0].Text
				ours := slices.ContainsFunc(content.Sessions, func(s Session) bool { return strings.HasPrefix(head, s.Name) })
				if i > 0 && i < len(pages)-1 && !ours && len(p.Rects) == 0 && pages[i+1].Texts[0].Text != content.Sessions[0].Name {
					t.Errorf("%s %s: page %d starts with %q: a foot on a page of its own", name, l, i+1, head)
				}
				if mates := func(label string) bool {
					return slices.ContainsFunc(p.Texts, func(x figure.Text) bool { return strings.HasPrefix(x.Text, label+" ") })
				}; ours && mates("A1") != mates("A2") {
					t.Errorf("%s %s: page %d parts a superset", name, l, i+1)
				}
				if ours && len(p.Rects) == 0 {
					t.Errorf("%s %s: page %d holds the head of %q and no exercise", name, l, i+1, head)
				}
			}
		}
	}
}

// slack is how far boxes may touch, mm: measured heights hold a little air.
const slack = 0.15

func checkPage(t *testing.T, where string, p *figure.Page, paper figure.Paper) {
	t.Helper()
	for _, n := range p.Notes {
		t.Errorf("%s: %s", where, n)
	}
	for i, a := range p.Texts {
		x0, y0, x1, y1 := a.Box()
		if x0 < 5 || y0 < 5 || x1 > paper.W-5 || y1 > paper.H-5 {
			t.Errorf("%s: %q leaves the page: %.1f %.1f %.1f %.1f", where, a.Text, x0, y0, x1, y1)
		}
		for _, b := range p.Texts[:i] {
			u0, v0, u1, v1 := b.Box()
			if math.Min(x1, u1)-math.Max(x0, u0) > slack && math.Min(y1, v1)-math.Max(y0, v0) > slack {
				t.Errorf("%s: %q and %q overlap", where, a.Text, b.Text)
			}
		}
	}
	for _, r := range p.Rects {
		if r.X < 5 || r.Y < 5 || r.X+r.W > paper.W-5 || r.Y+r.H > paper.H-5 {
			t.Errorf("%s: a box leaves the page: %+v", where, r)
		}
	}
	checkBoxes(t, where, p)
	checkDrawings(t, where, p, paper)
}

// checkDrawings holds that figures lie inside the page and apart from texts, boxes
// and one another.
func checkDrawings(t *testing.T, where string, p *figure.Page, paper figure.Paper) {
	t.Helper()
	for i, d := range p.Drawings {
		right, bottom := d.X+d.W, d.Y+d.W*d.Drawing.H/d.Drawing.W
		if d.X < 5 || d.Y < 5 || right > paper.W-5 || bottom > paper.H-5 {
			t.Errorf("%s: the figure of %s leaves the page", where, d.Drawing.Title)
		}
		clear := func(x0, y0, x1, y1 float64, what string) {
			if math.Min(right, x1)-math.Max(d.X, x0) > slack && math.Min(bottom, y1)-math.Max(d.Y, y0) > slack {
				t.Errorf("%s: the figure of %s and %s overlap", where, d.Drawing.Title, what)
			}
		}
		for _, x := range p.Texts {
			x0, y0, x1, y1 := x.Box()
			clear(x0, y0, x1, y1, x.Text)
		}
		for _, r := range p.Rects {
			clear(r.X, r.Y, r.X+r.W, r.Y+r.H, "a box")
		}
		for _, q := range p.Drawings[:i] {
			clear(q.X, q.Y, q.X+q.W, q.Y+q.W*q.Drawing.H/q.Drawing.W, q.Drawing.Title)
		}
	}
}

// Ensure that every exercise with postures has its figure on paper and on the page
// for screens, each drawn once there and shown again by reference, and that figures
// cost no page.
func TestFiguresOnTheSheet(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	b.Sessions[2].Slots = append(b.Sessions[2].Slots, b.Sessions[0].Slots[0]) // a second time
	content := NewContent(b, c, exercise.Shipped, form.English, nil, "")
	html, err := HTML(content)
	if err != nil {
		t.Fatal(err)
	}
	posed, distinct := 0, map[posedKey]bool{}
	for _, s := range content.Sessions {
		for _, r := range s.Rows {
			if exercise.Shipped.ByID(r.Exercise).Postures != nil {
				posed++
				distinct[r.key()] = true
			}
		}
	}
	drawn := 0
	for _, p := range Lay(content, PaperOptions{figure.A4, true}).Pages {
		drawn += len(p.Drawings)
	}
	if posed < 6 || drawn != posed {
		t.Errorf("%d exercises have postures, %d figures are on paper", posed, drawn)
	}
	if n := bytes.Count(html, []byte("<svg ")); n != posed {
		t.Errorf("%d figures are on the page, want %d", n, posed)
	}
	if n := bytes.Count(html, []byte("<use ")); n != posed-len(distinct) || n == 0 {
		t.Errorf("%d figures are shown by reference, want %d", n, posed-len(distinct))
	}
	for _, name := range []string{"rosa", "tomas"} {
		b, c := example(t, name)
		content := NewContent(b, c, exercise.Shipped, form.German, nil, "")
		with, without := Lay(content, PaperOptions{figure.A4, true}), Lay(content, PaperOptions{figure.A4, false})
		if len(with.Pages) > len(without.Pages) {
			t.Errorf("%s: %d pages with figures, %d without", name, len(with.Pages), len(without.Pages))
		}
	}
}

// checkBoxes holds that boxes to write in lie apart from each other, and that a
// text lies inside a box or outside it, never across its edge.
func checkBoxes(t *testing.T, where string, p *figure.Page) {
	t.Helper()
	var boxes []figure.Rect
	for _, r := range p.Rects {
		if r.Fill == figure.NoFill {
			boxes = append(boxes, r)
		}
	}
	for i, r := range boxes {
		for _, q := range boxes[:i] {
			if math.Min(r.X+r.W, q.X+q.W)-math.Max(r.X, q.X) > slack && math.Min(r.Y+r.H, q.Y+q.H)-math.Max(r.Y, q.Y) > slack {
				t.Errorf("%s: two boxes overlap: %+v %+v", where, r, q)
			}
		}
		for _, x := range p.Texts {
			x0, y0, x1, y1 := x.Box()
			apart := math.Min(r.X+r.W, x1)-math.Max(r.X, x0) <= slack || math.Min(r.Y+r.H, y1)-math.Max(r.Y, y0) <= slack
			inside := x0 >= r.X-slack && x1 <= r.X+r.W+slack && y0 >= r.Y-slack && y1 <= r.Y+r.H+slack
			if !apart && !inside {
				t.Errorf("%s: %q lies across a box", where, x.Text)
			}
		}
	}
}

// Ensure that every exercise, dose, cue, caution and reason of the content stands
// on the paper and on the page for screens, in the same order, and the code on
// every page.
func TestNothingIsLeftOut(t *testing.T) {
	for _, name := range []string{"rosa", "tomas"} {
		b, c := example(t, name)
		content := NewContent(b, c, exercise.Shipped, c.Language, nil, "R9-XYZ987")
		doc := Lay(content, PaperOptions{figure.A4, true})
		paper := ""
		for i, p := range doc.Pages {
			page := ""
			for _, x := range p.Texts {
				page += x.Text + " "
			}
			if !strings.Contains(page, "R9-XYZ987") {
				t.Errorf("%s: page %d lacks the code", name, i+1)
			}
			paper += page
		}
		html, err := HTML(content)
		if err != nil {
			t.Fatal(err)
		}
		screen := squeeze(plainHTML(string(html)))
		paper = squeeze(paper)
		at := 0
		for _, s := range content.Sessions {
			for _, r := range s.Rows {
				texts := append(append([]string{r.Name}, r.Cues...), r.Reasons...)
				texts = append(texts, r.WarmUp...)
				for _, w := range r.Weeks {
					texts = append(texts, w.Lines...)
				}
				for _, x := range append(texts, cautionTexts(s)...) {
					if !strings.Contains(paper, squeeze(x)) {
						t.Errorf("%s: the paper lacks %q", name, x)
					}
					if !strings.Contains(screen, squeeze(x)) {
						t.Errorf("%s: the page for screens lacks %q", name, x)
					}
				}
				next := strings.Index(screen[at:], squeeze(r.Label+" "+r.Name))
				if next < 0 {
					t.Errorf("%s: %q is out of order on the screen", name, r.Name)
				} else {
					at += next
				}
			}
		}
		for _, x := range content.Cautions {
			if !strings.Contains(paper, squeeze(x)) || !strings.Contains(screen, squeeze(x)) {
				t.Errorf("%s: the caution %q is missing", name, x)
			}
		}
	}
}

// Ensure that the page for screens needs nothing else: no script, no picture, no
// sheet of styles from elsewhere, and that every link leads into the page or is a
// tutorial.
func TestPageStandsAlone(t *testing.T) {
	b, c := worst(t)
	html, err := HTML(NewContent(b, c, exercise.Shipped, form.German, nil, ""))
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []string{"<script", "<link", "<img", "<iframe", "src=", "url(", "@import", "javascript:"} {
		if strings.Contains(string(html), x) {
			t.Errorf("the page holds %s", x)
		}
	}
	for _, m := range regexp.MustCompile(`href="([^"]*)"`).FindAllStringSubmatch(string(html), -1) {
		inside := strings.HasPrefix(m[1], "#") && strings.Contains(string(html), `id="`+m[1][1:]+`"`)
		if !inside && !strings.HasPrefix(m[1], "https://example.invalid/") {
			t.Errorf("the page leads to %s", m[1])
		}
	}
}

// cautionTexts lists the cautions of a session.
func cautionTexts(s Session) []string {
	var out []string
	for _, c := range s.Cautions {
		out = append(out, c.Text)
	}
	return out
}

// squeeze drops white space, which wrapping changes.
func squeeze(s string) string { return strings.Join(strings.Fields(s), "") }

// plainHTML strips tags and the entities the template writes.
func plainHTML(s string) string {
	var b strings.Builder
	in := false
	for _, r := range s {
		switch {
		case r == '<':
			in = true
			b.WriteByte(' ')
		case r == '>':
			in = false
		case !in:
			b.WriteRune(r)
		}
	}
	return strings.NewReplacer("&#43;", "+", "&amp;", "&", "&#39;", "'", "&#34;", `"`, "&lt;", "<", "&gt;", ">").Replace(b.String())
}

// Ensure that the private notes of client, block and slot appear in no output.
func TestPrivateStaysPrivate(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	who := *c
	who.Private, b.Private, b.Sessions[0].Slots[0].Private = "SECRETCLIENT", "SECRETBLOCK", "SECRETSLOT"
	content := NewContent(b, &who, exercise.Shipped, form.English, nil, "")
	frozen, err := Freeze(b, &who, exercise.Shipped, nil, b.Start)
	if err != nil {
		t.Fatal(err)
	}
	out, err := frozen.Write()
	if err != nil {
		t.Fatal(err)
	}
	html, err1 := HTML(content)
	list, err2 := CSV(content, b)
	data, err3 := JSON(content)
	cal, err4 := Calendar(content, b, who.Zone, time.Unix(0, 0).UTC())
	xlsx, err5 := Workbook(content, b)
	for i, err := range []error{err1, err2, err3, err4, err5} {
		if err != nil {
			t.Fatal(i, err)
		}
	}
	var plain strings.Builder
	p := Plain{Out: &plain, Library: exercise.Shipped, Language: form.English}
	p.Client(&who, b.Start)
	p.Block(b, &who)
	pages := ""
	for _, page := range Lay(content, PaperOptions{figure.A4, true}).Pages {
		for _, x := range page.Texts {
			pages += x.Text
		}
	}
	cells := ""
	f, err := excelize.OpenReader(bytes.NewReader(xlsx))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, tab := range f.GetSheetList() {
		rows, err := f.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			cells += strings.Join(row, " ")
		}
	}
	if !strings.Contains(cells, b.Sessions[0].Name) || !strings.Contains(pages, b.Name) {
		t.Fatal("the workbook or the paper was not looked at")
	}
	for name, text := range map[string]string{"workbook": cells, "frozen": string(out), "html": string(html), "csv": string(list), "json": string(data), "ics": string(cal), "text": plain.String(), "paper": pages} {
		if strings.Contains(text, "SECRET") {
			t.Errorf("%s holds a private note", name)
		}
	}
}

// Ensure that a character the font lacks is named with its page, and that
// Latin, Greek and Cyrillic are there.
func TestMissingGlyphIsNamed(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	b.Name = "Άσκηση, Упражнение, ćwiczenie"
	if _, err := PDF(NewContent(b, c, exercise.Shipped, form.English, nil, ""), PaperOptions{figure.A4, true}, time.Unix(0, 0)); err != nil {
		t.Errorf("Greek, Cyrillic and Polish: %v", err)
	}
	b.Name = "Squat 練習"
	_, err := PDF(NewContent(b, c, exercise.Shipped, form.English, nil, ""), PaperOptions{figure.A4, true}, time.Unix(0, 0))
	if err == nil || !strings.Contains(err.Error(), "U+7DF4") || !strings.Contains(err.Error(), "page 1") {
		t.Errorf("got %v", err)
	}
}

// Ensure that the same content gives the same bytes.
func TestSameBytes(t *testing.T) {
	b, c := example(t, "rosa")
	write := func() string {
		content := NewContent(b, c, exercise.Shipped, form.English, nil, "R1-AAAAAA")
		p, err := PDF(content, PaperOptions{figure.A4, true}, time.Unix(0, 0))
		if err != nil {
			t.Fatal(err)
		}
		h, err := HTML(content)
		if err != nil {
			t.Fatal(err)
		}
		return string(p) + string(h)
	}
	first, second := write(), write()
	if first != second {
		t.Error("two runs differ")
	}
}

// BenchmarkSheet makes the sheet of 6 sessions of 8 exercises over 4 weeks:
// budget 400 ms of one core and 2 MB.
func BenchmarkSheet(b *testing.B) {
	block, c := worst(b)
	for len(block.Sessions) < 6 {
		s := block.Sessions[len(block.Sessions)%3]
		s.ID = form.ID(fmt.Sprintf("more%d", len(block.Sessions)))
		s.Slots = append([]plan.Slot(nil), s.Slots...)
		for i := range s.Slots {
			s.Slots[i].ID = form.ID(fmt.Sprintf("m%dx%d", len(block.Sessions), i))
		}
		block.Sessions = append(block.Sessions, s)
	}
	for i := range block.Sessions {
		block.Sessions[i].Slots = block.Sessions[i].Slots[:8]
	}
	b.ReportAllocs()
	for b.Loop() {
		p, err := PDF(NewContent(block, c, exercise.Shipped, form.German, nil, ""), PaperOptions{figure.A4, true}, time.Unix(0, 0))
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(p)), "bytes")
	}
}
