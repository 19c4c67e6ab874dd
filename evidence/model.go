package evidence

import (
	_ "embed"
	"slices"
	"sync"

	"corbel/anatomy"
	"corbel/num"
)

// Prior of the hypotheses (docs/model/06-evidence.md (1) to (3); our judgement,
// key judgement, but for the background: key side-difference-2025).
const (
	ChanceNone = 0.35 // no group is clearly weak
	ChanceOne  = 0.50
	ChanceTwo  = 0.15
	slabMean   = 0.19 // ln, a clearly weak group: 17 %
	slabSD     = 0.08 // ln
	limbShare  = 0.2  // correlation of the background between groups of one limb
	// ClearlyOver is the difference of the second chance that is told: the weaker
	// side has 10 % less (ln).
	ClearlyOver = 0.10536
)

// backgroundSD holds the ordinary difference of sides, SD of ln(right/left), with
// equal weights (key side-difference-2025: 5.8 to 7.6 %).
var backgroundSD = [3]float64{0.04, 0.065, 0.09}

// A Side is the side of a group: -1 for right, +1 for left, so that side times a
// weakness is the change of ln(right/left).
type Side int

// Sides.
const (
	Right Side = -1
	Left  Side = 1
)

// Of returns the side as package anatomy names it.
func (s Side) Of() anatomy.Side {
	if s == Right {
		return anatomy.Right
	}
	return anatomy.Left
}

// A Group is muscles whose sides can be told apart from those of other groups.
type Group struct {
	ID      string
	Region  string // in which a complaint points at it
	Muscles []anatomy.Muscle
}

// A Weak is a group and side that a hypothesis takes for weak.
type Weak struct {
	Group int
	Side  Side
}

// A Hypothesis names the weak groups: none, one or two.
type Hypothesis struct {
	Weak  []Weak
	prior float64
}

// A Model is a set of groups with all hypotheses about them. It is read-only.
type Model struct {
	Set        string // lower or upper
	Groups     []Group
	Hypotheses []Hypothesis
	Drills     []Drill
}

//go:embed groups.csv
var groupsText string

// Sets are the sets of groups there are models of.
func Sets() []string { return []string{"lower", "upper"} }

var models = sync.OnceValue(func() map[string]*Model {
	out := map[string]*Model{}
	t := num.ReadTable("groups.csv", groupsText)
	for i := range t.Len() {
		set := t.Text(i, "set")
		if out[set] == nil {
			out[set] = &Model{Set: set}
		}
		g := Group{ID: t.Text(i, "id"), Region: t.Text(i, "region")}
		for _, m := range t.List(i, "muscles") {
			g.Muscles = append(g.Muscles, anatomy.Muscle(m))
		}
		out[set].Groups = append(out[set].Groups, g)
	}
	for _, m := range out {
		m.Hypotheses = enumerate(len(m.Groups))
		m.readDrills()
	}
	return out
})

// ModelOf returns the model of a set of groups; it panics if there is none.
func ModelOf(set string) *Model {
	m := models()[set]
	if m == nil {
		panic("evidence: no set of groups " + set)
	}
	return m
}

// enumerate lists none, one and two weak of n groups, docs/model/06-evidence.md (1).
func enumerate(n int) []Hypothesis {
	out := []Hypothesis{{prior: ChanceNone}}
	pairs := float64(n * (n - 1) / 2 * 4)
	sides := []Side{Right, Left}
	for g := range n {
		for _, s := range sides {
			out = append(out, Hypothesis{[]Weak{{g, s}}, ChanceOne / float64(2*n)})
		}
	}
	for g := range n {
		for h := g + 1; h < n; h++ {
			for _, s := range sides {
				for _, t := range sides {
					out = append(out, Hypothesis{[]Weak{{g, s}, {h, t}}, ChanceTwo / pairs})
				}
			}
		}
	}
	return out
}

// side returns the side a hypothesis takes for weak in a group, 0 for none.
func (h *Hypothesis) side(g int) Side {
	for _, w := range h.Weak {
		if w.Group == g {
			return w.Side
		}
	}
	return 0
}

// Number returns the place of a group in the model, or -1.
func (m *Model) Number(id string) int {
	return slices.IndexFunc(m.Groups, func(g Group) bool { return g.ID == id })
}

// NumberOf returns the place of the group a muscle belongs to, or -1.
func (m *Model) NumberOf(muscle anatomy.Muscle) int {
	return slices.IndexFunc(m.Groups, func(g Group) bool { return slices.Contains(g.Muscles, muscle) })
}

// secondMoment is E[delta^2] of a group under a hypothesis before any finding.
func secondMoment(h *Hypothesis, g int, tau float64) float64 {
	v := tau * tau
	if h.side(g) != 0 {
		v += slabMean*slabMean + slabSD*slabSD
	}
	return v
}

// A Complaint is where and on which side the client says it is.
type Complaint struct {
	Region string // of a group; empty where none is named
	Side   Side   // 0 where none is named
}

// Likelihoods of a complaint (docs/model/06-evidence.md (4); our judgement, key judgement).
const (
	complaintOwn, complaintOther = 0.70, 0.15
	complaintSide                = 0.75
	complaintRegions             = 3 // regions a complaint is spread over where no group is weak
)

// likelihood of a complaint under a hypothesis: the mean over its weak groups.
func (m *Model) complaint(h *Hypothesis, c Complaint) float64 {
	if len(h.Weak) == 0 {
		p := 1.0
		if c.Region != "" {
			p /= complaintRegions
		}
		if c.Side != 0 {
			p /= 2
		}
		return p
	}
	sum := 0.0
	for _, w := range h.Weak {
		p := 1.0
		switch {
		case c.Region == "":
		case m.Groups[w.Group].Region == c.Region:
			p = complaintOwn
		default:
			p = complaintOther
		}
		switch {
		case c.Side == 0:
		case c.Side == w.Side:
			p *= complaintSide
		default:
			p *= 1 - complaintSide
		}
		sum += p
	}
	return sum / float64(len(h.Weak))
}
