package sheet

import (
	"corbel/design"
	"corbel/plan"
)

// ReasonText writes why a slot is there.
func (p Plain) ReasonText(b *plan.Block, r plan.Reason) string { return p.reason(b, r) }

// CoverageName names what is counted: a lift, or a muscle with its side.
func (p Plain) CoverageName(c design.Coverage) string { return p.columnName(c) }

// RuleText says in words what lifting a rule of a proposal means.
func (p Plain) RuleText(rule string) string { return p.ruleName(rule) }
