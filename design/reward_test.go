package design

import "testing"

// rewards sums what choices earn by rewards and pairs alone, 1/1000 point.
func rewards(p *Problem, list []Choice) int64 {
	q := *p
	q.Columns = nil
	q.Near, q.Needs, q.Views = nil, nil, nil
	q.Options = make([]Option, len(p.Options))
	for i, o := range p.Options {
		o.Work, o.Cost, o.Use = nil, 0, 0
		q.Options[i] = o
	}
	return q.Fill(list).Value()
}

// Ensure that on the frozen problems and for the clients of the demo rewards and
// pairs are at most a tenth of the value, so that the aims decide.
func TestRewardsAreSmall(t *testing.T) {
	for _, days := range []int{1, 3, 4} {
		p := frozen(t, days)
		a := Search(p, nil, QuickMoves, 1)
		share := float64(rewards(p, a.Choices)) / float64(a.Value)
		if share <= 0 || share > 0.1 {
			t.Errorf("%d sessions: rewards are %.1f %% of the value", days, 100*share)
		}
	}
	for _, name := range []string{"rosa-client.yaml", "tomas-client.yaml"} {
		p, err := Propose(wishOf(t, clientFile(t, name)))
		if err != nil {
			t.Fatal(err)
		}
		share := float64(rewards(p.Problem, p.Answer.Choices)) / float64(p.Answer.Value)
		if share <= 0 || share > 0.1 {
			t.Errorf("%s: rewards are %.1f %% of the value", name, 100*share)
		}
	}
}
