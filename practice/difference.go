package practice

import "corbel/plan"

// Blocks returns the block before and after the change; nil before where a block is
// made, nil after where nothing is done. Neither may be changed.
func (d *Difference) Blocks() (before, after *plan.Block) {
	if d.before != nil && !d.New {
		before = d.before.Block
	}
	return before, d.after
}
