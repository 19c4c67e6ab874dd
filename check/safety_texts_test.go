package check

import (
	"maps"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"corbel/client"
	"corbel/form"
)

// claims are words that would promise what nobody can, or name a disease's finding:
// never said of training. A noun such as safety bars, or Sicherheitsablage, claims
// nothing.
var claims = regexp.MustCompile(`(?i)(^|[^\pL])(safe|safer|safest|safely|protects?|protective|diagnos\pL*|injury risk|risk of injury|(un)?sicher(er|e|es|en|em|ste|sten)?|ungefährlich\pL*|gefahrlos\pL*|schützt|verletzungsrisiko\pL*|verletzungsgefahr\pL*)([^\pL]|$)`)

// Ensure that the search finds claims and leaves nouns alone.
func TestClaims(t *testing.T) {
	for text, want := range map[string]bool{
		"this is safe": true, "Safer than before": true, "it protects the knee": true, "a diagnosis": true, "Diagnose": true, "das Training ist sicher": true, "sicherer": true, "Verletzungsrisiko": true, "ungefährlich": true,
		"set safety bars": false, "Safety list 7": false, "Sicherheitsablagen einstellen": false, "unter einer Brücke": false, "protein": false,
	} {
		if claims.MatchString(text) != want {
			t.Errorf("%q: %v", text, !want)
		}
	}
}

// texts collects every text with both languages in a value, by a path.
func texts(path string, v reflect.Value, out map[string]form.Text) {
	if t, ok := v.Interface().(form.Text); ok {
		out[path] = t
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		texts(path, v.Elem(), out)
	case reflect.Struct:
		for i := range v.NumField() {
			texts(path+"."+v.Type().Field(i).Name, v.Field(i), out)
		}
	case reflect.Slice:
		for i := range v.Len() {
			texts(path+"["+string(rune('0'+i/10))+string(rune('0'+i%10))+"]", v.Index(i), out)
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			texts(path+"."+k.String(), v.MapIndex(k), out)
		}
	}
}

// Ensure that every text of questions.yaml and messages.yaml is there in English
// and German, claims nothing, and asks for the same arguments in both languages.
func TestEveryTextInBothLanguages(t *testing.T) {
	all := map[string]form.Text{}
	texts("questions", reflect.ValueOf(client.Asking), all)
	texts("messages", reflect.ValueOf(wording), all)
	if len(all) < 200 {
		t.Fatalf("only %d texts were found", len(all))
	}
	for _, path := range slices.Sorted(maps.Keys(all)) {
		x := all[path]
		if (x.En == "") != (x.De == "") || x.En == "" && !strings.HasSuffix(path, ".Why") {
			t.Errorf("%s lacks a language: %q, %q", path, x.En, x.De)
		}
		for _, s := range []string{x.En, x.De} {
			if w := claims.FindString(s); w != "" {
				t.Errorf("%s says %q: %s", path, w, s)
			}
		}
		if en, de := argumentsOf(x.En), argumentsOf(x.De); !slices.Equal(en, de) {
			t.Errorf("%s asks for %v in English and %v in German", path, en, de)
		}
	}
}

var argument = regexp.MustCompile(`\{([a-z_]+)[}|]`)

// argumentsOf lists the arguments of a text, sorted, each once.
func argumentsOf(text string) []string {
	var out []string
	for _, m := range argument.FindAllStringSubmatch(text, -1) {
		out = append(out, m[1])
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Ensure that a coach's own words with braces in them are printed as they are and
// filled into nothing.
func TestBracesInOwnWords(t *testing.T) {
	c, b := cleared(t), only(t, "back-squat: 3 x 8 rir 2")
	c.Restrict = []client.Restriction{{ID: "r", By: client.ByCoach, On: day(t, "2026-11-01"), Exercise: "back-squat", Who: "Ida {about}", Why: "knee {may}"}}
	p := ofCode(applySafety(c, b, form.English), "restriction")
	if len(p) != 1 || !strings.Contains(p[0].Text, "Ida {about}") || !strings.Contains(p[0].Why, "(knee {may})") {
		t.Errorf("%v", p)
	}
}

// documented is a row of the table of codes in docs/json/check.md.
type documented struct {
	severities, args []string
}

// checkPage reads docs/json/check.md: its text, its codes in order and their rows.
func checkPage(t *testing.T) (page string, codes []string, rows map[string]documented) {
	text, err := os.ReadFile("../docs/json/check.md")
	if err != nil {
		t.Fatal(err)
	}
	page = string(text)
	_, table, ok := strings.Cut(page, "\n## Codes\n")
	if !ok {
		t.Fatal("docs/json/check.md has no table of codes")
	}
	rows = map[string]documented{}
	words := regexp.MustCompile("`([^`]+)`")
	for _, line := range strings.Split(table, "\n") {
		cells := strings.Split(line, " | ")
		if len(cells) < 4 || !strings.HasPrefix(line, "| `") {
			continue
		}
		code := strings.Trim(cells[0], "|` ")
		d := documented{severities: strings.Split(cells[1], ", ")}
		for _, m := range words.FindAllStringSubmatch(cells[2], -1) {
			d.args = append(d.args, m[1])
		}
		codes, rows[code] = append(codes, code), d
	}
	return page, codes, rows
}

// Ensure that docs/json/check.md lists every code of messages.yaml in its order,
// with the severities and arguments that come out, and every field of the JSON.
func TestCheckPage(t *testing.T) {
	page, codes, rows := checkPage(t)
	src := regexp.MustCompile(`(?m)^  ([a-z-]+):$`)
	var want []string
	for _, m := range src.FindAllStringSubmatch(string(messagesYAML), -1) {
		want = append(want, m[1])
	}
	if len(want) != len(wording) || !slices.Equal(codes, want) {
		t.Errorf("the page lists\n%v, messages.yaml\n%v", codes, want)
	}
	for code, m := range wording {
		for _, a := range slices.Concat(argumentsOf(m.Text.En), argumentsOf(m.Why.En)) {
			if !slices.Contains(rows[code].args, a) {
				t.Errorf("%s: the page lacks the argument %s", code, a)
			}
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		for _, p := range Safety(gen{rt}.safetyInput()) {
			comesOut(rt, rows, p)
		}
	})
	for _, who := range []string{"rosa", "tomas", "mila"} {
		for _, p := range Check(exampleInput(t, who, form.English)).Problems {
			comesOut(t, rows, p)
		}
	}
	fields(t, page, reflect.TypeFor[Report](), map[reflect.Type]bool{})
}

// comesOut holds a problem to what the page says of its code.
func comesOut(t interface{ Errorf(string, ...any) }, rows map[string]documented, p Problem) {
	row := rows[string(p.Code)]
	if !slices.Contains(row.severities, string(p.Severity)) {
		t.Errorf("%s comes with %s; the page says %v", p.Code, p.Severity, row.severities)
	}
	for a := range p.Args {
		if !slices.Contains(row.args, a) {
			t.Errorf("%s comes with %s; the page says %v", p.Code, a, row.args)
		}
	}
}

// fields holds that the page names every field of the JSON form of a type.
func fields(t *testing.T, page string, typ reflect.Type, seen map[reflect.Type]bool) {
	for typ.Kind() == reflect.Slice || typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	if typ.Kind() != reflect.Struct || seen[typ] {
		return
	}
	seen[typ] = true
	for i := range typ.NumField() {
		name, _, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
		if name == "" || name == "-" {
			continue
		}
		if !regexp.MustCompile("[`.]" + name + `(\[\])?[.` + "`]").MatchString(page) {
			t.Errorf("docs/json/check.md lacks %s of %s", name, typ.Name())
		}
		fields(t, page, typ.Field(i).Type, seen)
	}
}

// Ensure that docs/model/12-safety.md numbers its rules without a gap, that every
// rule the code points at is there and the other way round, and that it names every
// code of the safety rules.
func TestSafetyChapter(t *testing.T) {
	text, err := os.ReadFile("../docs/model/12-safety.md")
	if err != nil {
		t.Fatal(err)
	}
	row, pointer := regexp.MustCompile(`(?m)^\| S(\d+) \|`), regexp.MustCompile(`\bS(\d+)\b`)
	rules, pointed := map[string]bool{}, map[string]bool{}
	for i, m := range row.FindAllStringSubmatch(string(text), -1) {
		if want := i + 1; m[1] != strconv.Itoa(want) {
			t.Errorf("rule S%s stands where S%d should", m[1], want)
		}
		rules[m[1]] = true
	}
	for _, file := range []string{"safety.go", "pain.go", "problem.go", "report.go", "../client/answers.go", "../client/safety.go"} {
		code, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range pointer.FindAllStringSubmatch(string(code), -1) {
			pointed[m[1]] = true
			if !rules[m[1]] {
				t.Errorf("%s points at S%s, which the chapter lacks", file, m[1])
			}
		}
	}
	for r := range rules {
		if !pointed[r] {
			t.Errorf("no code points at S%s", r)
		}
	}
	for _, code := range strings.Fields("clearance-not-asked clearance-needed clearance-intensity clearance-start not-asked ask-again emergency red-flag red-flag-refer ask-first refer word-ends restriction restriction-range restriction-load pain-stop pain-stop-refer pain-lower pain-word pain-not-recorded not-for-now spotter") {
		if !strings.Contains(string(text), "`"+code+"`") {
			t.Errorf("the chapter lacks %s", code)
		}
	}
}
