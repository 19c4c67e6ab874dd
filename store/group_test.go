package store

import (
	"strings"
	"testing"

	"corbel/examples"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// grouped adds the group of the examples, its block and its member.
func grouped(t *testing.T, p *practice.Practice, coach *practice.Account) {
	t.Helper()
	for _, d := range []struct {
		kind        practice.Kind
		owner, file string
	}{{practice.GroupDoc, "", "valley-group.yaml"}, {practice.BlockDoc, "valley", "valley-block.yaml"}, {practice.MemberDoc, "", "nadja-member.yaml"}} {
		text, err := examples.Files.ReadFile(d.file)
		if err != nil {
			t.Fatal(err)
		}
		if d.kind == practice.MemberDoc {
			text = []byte(strings.Replace(string(text), "group: valley-group.yaml", "group: valley.yaml", 1))
		}
		if _, err := p.Put(t.Context(), coach, d.kind, d.owner, string(text), "put-group-0-"+strings.TrimSuffix(d.file, ".yaml")); err != nil {
			t.Fatal(d.file, err)
		}
	}
}

// Ensure that a group's block is stored, changed, opened as a whole and as a member
// follows it; that handing over names why a member gets nothing and gives the others
// theirs; that who is given the group sees its members; and that an id is given once
// among clients, groups and members.
func TestGroups(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		grouped(t, p, coach)
		c, err := p.Open(t.Context(), coach, "valley-w1")
		if err != nil || c.Block.Group != "valley.yaml" || c.Client.Name != "Valley strength" {
			t.Fatalf("%+v %v", c, err)
		}
		if r := p.Check(c, form.English); r.Blocked() {
			t.Errorf("stopped for the group as a whole: %v", r.Problems)
		}
		for _, id := range []string{"valley", "nadja-k"} {
			text := strings.Replace(rosaClient(t, p, coach), "id: rosa-l", "id: "+id, 1)
			if _, err := p.Put(t.Context(), coach, practice.ClientDoc, "", text, "put-taken-00000000"); practice.ReasonOf(err) != practice.Refused {
				t.Errorf("a client with the id of %s: %v", id, err)
			}
		}
		given, err := p.HandOverGroup(t.Context(), coach, "valley-w1", "hand-000000000000001")
		if err != nil || len(given) != 1 || given[0].Frozen != nil || len(given[0].Stops) == 0 {
			t.Fatalf("Nadja was not asked everything, yet: %+v %v", given, err)
		}
		answered(t, p, coach)
		given, err = p.HandOverGroup(t.Context(), coach, "valley-w1", "hand-000000000000002")
		if err != nil || given[0].Frozen == nil || given[0].Frozen.Owner != "nadja-k" {
			t.Fatalf("handed over: %+v %v", given, err)
		}
		if data, _, err := p.FrozenAs(t.Context(), coach, given[0].Frozen.Code, "pdf"); err != nil || len(data) < 1000 {
			t.Errorf("her sheet: %d bytes, %v", len(data), err)
		}
		if _, err := p.Person(t.Context(), assistant, "nadja-k"); practice.ReasonOf(err) != practice.NotFound {
			t.Errorf("an assistant of others sees her: %v", err)
		}
		if err := p.SetAccess(t.Context(), coach, assistant.ID, []string{"valley"}); err != nil {
			t.Fatal(err)
		}
		if who, err := p.Person(t.Context(), assistant, "nadja-k"); err != nil || len(who.Blocks) != 1 || who.Group != "valley" {
			t.Errorf("an assistant of the group does not see her: %v", err)
		}
		if _, err := p.Record(t.Context(), assistant, "nadja-k", plan.Entry{Block: "valley-w1", Revision: 1, Session: "one", Week: 1, On: day(t, "2026-11-30")}, "record-00000000001"); err != nil {
			t.Errorf("an assistant of the group records: %v", err)
		}
		if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
			t.Error(wrong, err)
		}
		if err := p.Erase(t.Context(), coach, "nadja-k"); err != nil {
			t.Fatal(err)
		}
		if rows, err := p.Clients(t.Context(), coach, "nadja", form.English); err != nil || len(rows) != 0 {
			t.Errorf("erased and there: %v %v", rows, err)
		}
	})
}

// rosaClient is the text of the first client.
func rosaClient(t *testing.T, p *practice.Practice, who *practice.Account) string {
	t.Helper()
	d, err := p.Doc(t.Context(), who, practice.ClientDoc, "rosa-l")
	if err != nil {
		t.Fatal(err)
	}
	return d.Text
}

// answered answers every question of the member with no.
func answered(t *testing.T, p *practice.Practice, who *practice.Account) {
	t.Helper()
	d, err := p.Doc(t.Context(), who, practice.MemberDoc, "nadja-k")
	if err != nil {
		t.Fatal(err)
	}
	text := d.Text
	at := strings.Index(text, "restrictions:")
	for _, q := range []string{"low-back", "joints", "ask-first"} {
		text = text[:at] + "  - ask: " + q + "\n    answer: \"no\"\n    on: 2026-11-23\n" + text[at:]
	}
	text = text[:strings.Index(text, "restrictions:")]
	if _, err := p.Rewrite(t.Context(), who, practice.MemberDoc, "nadja-k", d.Version, text, "answered-0000000001"); err != nil {
		t.Fatal(err)
	}
}

// Ensure that a block is changed in mid-block by the rule of return and taken back,
// that a place nobody has and a change without a reason are refused.
func TestMidway(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		before := texts(t, p, coach)
		for i, m := range []practice.Midway{{Do: practice.PauseDays, On: day(t, "2026-12-07"), Until: day(t, "2026-12-10")},
			{Do: practice.OtherPlace, Place: "moon", Why: "away"}, {Do: practice.SkipSession, Session: "nothing", Why: "ill"}, {Do: "fly", Why: "why not"}} {
			if _, err := p.ChangeMidway(t.Context(), coach, "rosa-b2", m, "midway-00000000000001"); practice.ReasonOf(err) != practice.Refused {
				t.Errorf("change %d: %v", i, err)
			}
		}
		out, err := p.ChangeMidway(t.Context(), coach, "rosa-b2", practice.Midway{Do: practice.PauseDays, On: day(t, "2026-12-02"), Until: day(t, "2026-12-13"), Why: "ill"}, "midway-00000000000001")
		if err != nil || !strings.Contains(out.Doc.Text, "one step lighter") || !strings.Contains(out.Doc.Text, "do: pause") {
			t.Errorf("paused for 12 days: %v\n%s", err, out.Doc.Text)
		}
		if _, err := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "midway-00000000000002"); err != nil || texts(t, p, coach) != before {
			t.Errorf("taken back: %v", err)
		}
	})
}
