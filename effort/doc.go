// Package effort turns load, repetitions and rest into numbers a coach can plan
// with: what a client can do fresh, what is left of it through a session, and
// what a week of sets counts for.
//
// In go plain numbers: loads as a fraction of the one-repetition maximum (1RM),
// repetition times and rests in seconds, demands of an exercise on numbered
// pools (one for each muscle group and side, one "own" pool for each exercise).
// Out come repetitions to failure, reserve reached, capacity before each set, an
// exact account of what each earlier set cost, 80 % bands from seeded draws, and
// counts of hard sets and lift sets.
//
// It knows no exercises, no clients and no plans: names and files are the
// caller's. It predicts capacity for further sets, never maximal force, and it
// says with a [Mark] where a set lies outside the data behind the model.
//
// Most callers need [NewModel], [Model.Link], [NewSession] and [Session.Set];
// a search that tries many orders uses [Model.Rest] and [Model.Set] on a [State]
// of its own, which allocate nothing.
//
// Equations are numbered as in docs/model/02-effort.md and
// docs/model/03-session.md; sources are keys of docs/sources.md.
package effort
