// Package evidence says what findings tell about weak muscle groups: how likely
// each group of each side is clearly weak, which drill would tell more, what a
// weak group may get, and weeks later whether something changed or is noise.
//
// In go findings with their errors and the sensitivities of drills to the
// strength of muscle groups (sensitivity.csv). Out come chances, ranges, what each
// finding contributed, what fits nothing, and the information another test would
// bring.
//
// A hypothesis is that none, one or two groups of a set are clearly weak. All of
// them are tried: each is Gaussian and has a closed form, so that nothing is
// sampled and the same findings give the same answer.
//
// It knows strength alone. Skill, range, pain and habit are questions to the
// coach. It never diagnoses. The equations stand in docs/model/06-evidence.md.
package evidence
