// Package design proposes the sessions of a week: which exercises on which day,
// how many sets, in which order. The search works on a frozen problem of whole
// numbers (Problem), written beside the block, so that the same problem and seed
// give the same bytes on every machine. docs/model/08-design.md has the equations.
//
// It knows what a client file wishes and what check counts; it does not print.
package design
