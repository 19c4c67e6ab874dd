package client

import (
	_ "embed"

	"corbel/anatomy"
	"corbel/form"
)

//go:embed questions.yaml
var questionsYAML []byte

// askedRegion marks questions whose yes must name the region.
const askedRegion = "asked"

// QuestionKind says what a yes to a question does.
type QuestionKind string

// Kinds of questions.
const (
	Emergency QuestionKind = "emergency" // stop all training, call
	RedFlag   QuestionKind = "red-flag"  // no loaded work for the region
	AskFirst  QuestionKind = "ask-first" // a practitioner's word before a loaded plan
	Refer     QuestionKind = "refer"     // refer, do not stop
)

// Values lists the kinds.
func (QuestionKind) Values() []string {
	return []string{string(Emergency), string(RedFlag), string(AskFirst), string(Refer)}
}

// A Question is one safety question.
type Question struct {
	ID     form.ID      `form:"id,required" doc:"named by the answers"`
	Group  form.ID      `form:"group,required" doc:"group it is asked in"`
	Kind   QuestionKind `form:"kind,required" doc:"what a yes does"`
	Region string       `form:"region" doc:"region a yes concerns; asked where the client names it"`
	From   string       `form:"from" doc:"born where it follows from the date of birth"`
	Ages   string       `form:"ages" doc:"ages it is a flag for"`
	OnlyIf string       `form:"only_if" doc:"question that must be yes for it to be asked"`
	Text   form.Text    `form:"text,required" doc:"the question"`
	Short  form.Text    `form:"short,required" doc:"label"`
	Source string       `form:"source,required" doc:"key in docs/sources.md"`
	Status string       `form:"status,required" doc:"verified or from-memory"`
}

// sided says whether an answer to the question may differ between left and
// right.
func (q *Question) sided() bool {
	return q.Region == askedRegion || q.Region != "" && !Midline(anatomy.Region(q.Region))
}

// Midline says whether a region has no left and right of its own: work on either
// side of the body loads it (our judgement; key judgement).
func Midline(r anatomy.Region) bool { return r == "low-back" || r == "upper-back" || r == "neck" }

// A Group is a group of questions asked together.
type Group struct {
	ID          form.ID   `form:"id,required" doc:"named by answers to the whole group"`
	Name        form.Text `form:"name,required" doc:"heading"`
	Intro       form.Text `form:"intro,required" doc:"said before the questions"`
	Consequence form.Text `form:"consequence,required" doc:"what a yes means"`
}

// A ClearanceQuestion is one question of the pre-participation screening.
type ClearanceQuestion struct {
	ID      form.ID   `form:"id,required" doc:"field of the clearance"`
	Text    form.Text `form:"text,required" doc:"the question"`
	Help    form.Text `form:"help,required" doc:"the definition in plain words"`
	Answers []string  `form:"answers,required" doc:"possible answers"`
	Source  string    `form:"source,required" doc:"key in docs/sources.md"`
}

// Questions is the whole list of safety questions, read-only.
type Questions struct {
	Form      int                  `form:"form,required" doc:"version"`
	Groups    []Group              `form:"groups,required" doc:"groups"`
	Questions []Question           `form:"questions,required" doc:"questions"`
	Clearance []ClearanceQuestion  `form:"clearance,required" doc:"screening"`
	Words     map[string]form.Text `form:"words,required" doc:"sentences of the checks and sheets"`
}

// Asking is the shipped list of safety questions.
var Asking = func() *Questions {
	d, err := form.Open("questions.yaml", questionsYAML)
	if err != nil {
		panic(err)
	}
	q := &Questions{}
	d.Fill("the safety questions", q)
	if err := d.Err(); err != nil {
		panic(err)
	}
	return q
}()

// QuestionByID returns a question, or nil.
func QuestionByID(id string) *Question {
	for i := range Asking.Questions {
		if string(Asking.Questions[i].ID) == id {
			return &Asking.Questions[i]
		}
	}
	return nil
}

// GroupByID returns a group of questions, or nil.
func GroupByID(id string) *Group {
	for i := range Asking.Groups {
		if string(Asking.Groups[i].ID) == id {
			return &Asking.Groups[i]
		}
	}
	return nil
}

// questionIDs lists what a flag may name.
func questionIDs() []string {
	var ids []string
	for _, g := range Asking.Groups {
		ids = append(ids, string(g.ID))
	}
	for _, q := range Asking.Questions {
		ids = append(ids, string(q.ID))
	}
	return ids
}

// Sentence returns a fixed sentence of the safety list in l. It panics on an
// unknown key.
func Sentence(key string, l form.Language) string {
	t, ok := Asking.Words[key]
	if !ok {
		panic("client: no sentence " + key)
	}
	return t.In(l)
}
