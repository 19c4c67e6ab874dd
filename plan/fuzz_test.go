package plan_test

import (
	"testing"

	"corbel/form"
	"corbel/plan"
)

// seed adds the examples of the manual of one kind.
func seed(f *testing.F, infos ...string) {
	for _, e := range examples(f, infos...) {
		f.Add(e.input)
	}
}

// Whatever reads as a dose prints, has words in both languages, and what is
// printed reads back the same.
func FuzzDose(f *testing.F) {
	seed(f, "dose", "dose-de")
	f.Fuzz(func(t *testing.T, src string) {
		d, err := plan.ParseDose(src)
		if err != nil {
			inside(t, src, err)
			return
		}
		text := d.Canonical()
		for _, l := range []form.Language{form.English, form.German} {
			if (plan.Phrase{Language: l}).Dose(d) == "" {
				t.Errorf("%q has no words in %s", src, l)
			}
		}
		back, err := plan.ParseDose(text)
		if len(text) > 400 && err != nil {
			return // one spelling may be longer than what was typed
		}
		if err != nil || back.Canonical() != text {
			t.Fatalf("%q prints as %q, which reads back as %q, %v", src, text, back.Canonical(), err)
		}
	})
}

// Whatever reads as a line of the log prints and reads back the same.
func FuzzDone(f *testing.F) {
	seed(f, "done")
	f.Fuzz(func(t *testing.T, src string) {
		d, err := plan.ParseDone(src)
		if err != nil {
			inside(t, src, err)
			return
		}
		if (plan.Phrase{Language: form.English}).Done(d) == "" {
			t.Errorf("%q has no words", src)
		}
		back, err := plan.ParseDone(d.Canonical())
		if err != nil || back.Canonical() != d.Canonical() {
			t.Fatalf("%q prints as %q, which reads back as %q, %v", src, d.Canonical(), back.Canonical(), err)
		}
	})
}

// Whatever reads as a rule of progress prints and reads back the same.
func FuzzProgress(f *testing.F) {
	seed(f, "progress")
	f.Fuzz(func(t *testing.T, src string) {
		var p, back plan.Progress
		if err := p.UnmarshalText([]byte(src)); err != nil {
			inside(t, src, err)
			return
		}
		if err := back.UnmarshalText([]byte(p.String())); err != nil || back.String() != p.String() || diff(p, back) != "" {
			t.Fatalf("%q prints as %q, which reads back as %q, %v", src, p, back, err)
		}
	})
}

// inside holds that an error lies inside the text and says something.
func inside(t *testing.T, src string, err error) {
	t.Helper()
	e, ok := err.(*plan.DoseError)
	if !ok || e.Offset() < 0 || e.Offset() > len(src) || e.Error() == "" {
		t.Fatalf("%q: %#v", src, err)
	}
}
