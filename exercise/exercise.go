// Package exercise is the library: what each exercise is called, which muscles
// it is counted for, which joint actions work under load, how it is loaded, how
// long it takes, what to look for and what to take care of. One YAML file an
// exercise in library/, embedded in the program.
//
// Entries are versioned, renamed by alias (was) and retired, never deleted. It
// knows no clients and no doses; package body solves the postures.
package exercise

import (
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/unit"
)

// LibraryVersion is the version of the shipped library as a whole. It rises
// with every change of an entry; blocks record it in made_with.
const LibraryVersion = "1"

// An Exercise is one entry of the library. It is read-only.
type Exercise struct {
	Form       int                        `form:"form,required" doc:"version of the form, 1"`
	ID         form.ID                    `form:"id,required" doc:"lower-case words with hyphens; equal to the file name"`
	Version    int                        `form:"version,required" doc:"rises with every change of meaning"`
	Was        []form.ID                  `form:"was" doc:"earlier ids; files that use them keep working"`
	Retired    bool                       `form:"retired" doc:"no longer offered; old blocks keep it"`
	Name       form.Text                  `form:"name,required" doc:"name in both languages"`
	Short      Words                      `form:"short" doc:"abbreviations coaches write"`
	Words      Words                      `form:"words" doc:"other usual names and search words"`
	Stage      Stage                      `form:"stage,required" doc:"usual place in a session"`
	Sides      Laterality                 `form:"sides,required" doc:"both sides at once, each side for itself, or alternating"`
	VariantOf  []form.ID                  `form:"variant_of" doc:"lifts it counts as a variant of, where a lift is judged"`
	Pattern    Pattern                    `form:"pattern,required" doc:"movement pattern"`
	Class      Class                      `form:"class,required" doc:"repetition class (docs/model/02-effort.md)"`
	Loads      []LoadKind                 `form:"loads,required" doc:"how it can be loaded, the usual way first"`
	Equipment  []client.Equipment         `form:"equipment" doc:"what is needed"`
	PercentOf  PercentOf                  `form:"percent_of,required" doc:"what a percentage of 1RM counts: external load alone, or with the body mass carried"`
	Carried    float64                    `form:"carried,required" doc:"fraction of body mass moved with the load, 0 to 1 (stated)"`
	Setup      unit.Duration              `form:"setup,required" doc:"time to get ready, once"`
	Repetition unit.Duration              `form:"repetition,required" doc:"one repetition at an ordinary pace"`
	Direct     []anatomy.Muscle           `form:"direct,required" doc:"muscles a hard set counts for in full"`
	Indirect   []anatomy.Muscle           `form:"indirect" doc:"muscles a hard set counts half for"`
	Shares     map[anatomy.Muscle]float64 `form:"shares,required" doc:"stated share of each muscle, 0 to 1, the largest 1"`
	Basis      string                     `form:"basis,required" doc:"key in docs/sources.md of the shares"`
	Actions    []anatomy.Action           `form:"actions,required" doc:"joint actions that work under load"`
	Hardest    Length                     `form:"hardest,required" doc:"length of the direct muscles where the load is hardest"`
	May        []Reason                   `form:"may,required" doc:"what it may be there for"`
	Spotter    Spotter                    `form:"spotter,required" doc:"whether heavy work needs a spotter or safety bars"`
	Cues       CuesByLanguage             `form:"cues,required" doc:"what to look for, feel, avoid"`
	Cautions   Words                      `form:"cautions,required" doc:"what to take care of"`
	Postures   *Postures                  `form:"postures" doc:"how it is done, as targets to be solved for each client"`
	Computed   Computed                   `form:"computed" doc:"muscles whose computed shares count; the others keep the stated ones; none if left out"`
}

// Computed says for which muscles an exercise's computed shares are good enough to
// count (docs/decision/0027).
type Computed string

// Which muscles.
const (
	ComputedNone  Computed = ""
	ComputedLower Computed = "legs and trunk"
	ComputedAll   Computed = "all"
)

// Values lists the values.
func (Computed) Values() []string { return []string{string(ComputedLower), string(ComputedAll)} }

// Words are lists of words or sentences by language.
type Words struct {
	En []string `form:"en" doc:"English"`
	De []string `form:"de" doc:"German"`
}

// In returns the list in l.
func (w Words) In(l form.Language) []string {
	if l == form.German {
		return w.De
	}
	return w.En
}

// Cues are at most three sentences.
type Cues struct {
	Look  string `form:"look" doc:"what to see"`
	Feel  string `form:"feel" doc:"what to feel"`
	Avoid string `form:"avoid" doc:"what to avoid"`
}

// List returns the cues that are there, in order.
func (c Cues) List() []string {
	var out []string
	for _, s := range []string{c.Look, c.Feel, c.Avoid} {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// CuesByLanguage holds the cues in every language.
type CuesByLanguage struct {
	En Cues `form:"en,required" doc:"English"`
	De Cues `form:"de,required" doc:"German"`
}

// In returns the cues in l.
func (c CuesByLanguage) In(l form.Language) Cues {
	if l == form.German {
		return c.De
	}
	return c.En
}

// Stage is the place of an exercise in a session.
type Stage string

// Stages in the order of a session.
const (
	Drill     Stage = "drill"
	Main      Stage = "main"
	Accessory Stage = "accessory"
	Isolation Stage = "isolation"
	Finisher  Stage = "finisher"
)

// Values lists the stages in the order of a session.
func (Stage) Values() []string {
	return []string{string(Drill), string(Main), string(Accessory), string(Isolation), string(Finisher)}
}

// In returns the name of the stage in l.
func (s Stage) In(l form.Language) string {
	if l == form.German {
		return map[Stage]string{Drill: "Vorübung", Main: "Hauptübung", Accessory: "Ergänzung", Isolation: "Einzelmuskel", Finisher: "Abschluss"}[s]
	}
	return string(s)
}

// Laterality says how an exercise treats the two sides.
type Laterality string

// Lateralities.
const (
	BothSides   Laterality = "both"
	EachSide    Laterality = "each"
	Alternating Laterality = "alternating"
)

// Values lists the lateralities.
func (Laterality) Values() []string {
	return []string{string(BothSides), string(EachSide), string(Alternating)}
}

// Pattern is a movement pattern.
type Pattern string

// Values lists the patterns.
func (Pattern) Values() []string {
	return []string{"squat", "hinge", "bridge", "lunge", "step", "knee", "hip-side", "calf", "trunk", "carry",
		"horizontal-push", "vertical-push", "horizontal-pull", "vertical-pull", "fly", "raise", "cuff", "shrug",
		"curl", "triceps", "mobility"}
}

// Class is a repetition class: how repetitions fall as the load rises.
type Class string

// Values lists the classes.
func (Class) Values() []string {
	return []string{"upper-push", "squat", "single-joint", "hinge", "single-leg", "pull", "calf-trunk"}
}

// LoadKind is a way an exercise is loaded.
type LoadKind string

// Load kinds.
const (
	BarOnTrunk LoadKind = "bar-on-trunk"
	BarInHands LoadKind = "bar-in-hands"
	PerHand    LoadKind = "per-hand"
	Stack      LoadKind = "stack"
	Cable      LoadKind = "cable"
	Cam        LoadKind = "cam"
	Lever      LoadKind = "lever"
	Sled       LoadKind = "sled"
	Band       LoadKind = "band"
	BodyWeight LoadKind = "body-weight"
	Assisted   LoadKind = "assisted"
	OnLimb     LoadKind = "on-a-limb"
)

// Values lists the load kinds.
func (LoadKind) Values() []string {
	return []string{string(BarOnTrunk), string(BarInHands), string(PerHand), string(Stack), string(Cable), string(Cam),
		string(Lever), string(Sled), string(Band), string(BodyWeight), string(Assisted), string(OnLimb)}
}

// PercentOf says what a percentage of the 1RM counts.
type PercentOf string

// What a percentage counts.
const (
	External PercentOf = "external"
	System   PercentOf = "system"
)

// Values lists what a percentage may count.
func (PercentOf) Values() []string { return []string{string(External), string(System)} }

// Length is a muscle length.
type Length string

// Values lists the lengths; even means the load is much the same throughout.
func (Length) Values() []string { return []string{"long", "middle", "short", "even"} }

// Reason is what an exercise may be there for.
type Reason string

// Reasons. What each claims stands in docs/model/05-reasons.md.
const (
	Test     Reason = "test"
	Prepare  Reason = "prepare"
	Practise Reason = "practise"
	Load     Reason = "load"
	Spare    Reason = "spare"
	Restore  Reason = "restore"
)

// Values lists the reasons.
func (Reason) Values() []string {
	return []string{string(Test), string(Prepare), string(Practise), string(Load), string(Spare), string(Restore)}
}

// Spotter says what heavy work needs.
type Spotter string

// Values lists the needs: none, or safety bars or a spotter.
func (Spotter) Values() []string { return []string{"none", "bars"} }

// Works says whether the exercise works a joint action under load.
func (e *Exercise) Works(a anatomy.Action) bool {
	for _, x := range e.Actions {
		if x == a {
			return true
		}
	}
	return false
}

// Family returns what exercises that can stand for each other have in common: the
// declared pattern and the first muscle declared as trained directly.
func (e *Exercise) Family() string {
	if len(e.Direct) == 0 {
		return string(e.Pattern)
	}
	return string(e.Pattern) + " " + string(e.Direct[0])
}

// Counts says whether a set of the exercise counts for a judged lift: it is the
// lift, or declared a variant of it.
func (e *Exercise) Counts(lift string) bool {
	return string(e.ID) == lift || slices.Contains(e.VariantOf, form.ID(lift))
}

// LoadsRegion says whether any joint action of the exercise loads the region.
func (e *Exercise) LoadsRegion(r anatomy.Region) bool {
	for _, a := range e.Actions {
		if a.Region() == r {
			return true
		}
	}
	return false
}
