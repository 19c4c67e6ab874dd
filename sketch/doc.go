// Package sketch draws exercises: the postures that package body solves for a
// client, with bar, bench and floor, as display lists of package figure.
//
// The flow: a solved posture becomes parts of round solids (person.go, gear.go);
// a camera projects them (solid.go); parts are put in painter's order (order.go)
// and painted with marks for the muscles that work (muscle.go, paint.go). The
// rules stand in docs/figure.md. It computes nothing about strength or load.
package sketch
