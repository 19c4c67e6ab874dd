// Package body computes what an exercise asks of one client's body: net joint
// moments, muscle shares by side, the largest load and what limits it.
//
// The flow: a client's measures scale a chain of rigid segments (segments.csv);
// an exercise's postures are targets, solved for that chain; statics gives the
// moments the muscles must deliver; load sharing spreads them over muscles whose
// strength follows the norms and the client's known lifts.
//
// The equations stand in docs/model/01-body.md. Everything is static: nothing
// is said of acceleration, of discs, cartilage or tendons.
package body
