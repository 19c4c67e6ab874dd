// Package plan holds the nouns of training: dose, slot, session, week, block,
// change, log, group and release, and the files they are written in. Doses are
// written in the trade's shorthand, "4 x 4 @ 72%"; docs/form.md shows it by
// examples that run as tests.
//
// It knows exercises only by id and judges nothing: package check does.
package plan
