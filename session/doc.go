// Package session lets a client do a session of a block on paper: which load
// each set is, in what order the sets are really done, how long it takes, what
// each set finds left, what earlier exercises cost later ones, and what the week
// counts for each muscle and lift.
//
// In go a client, a block and the library; out come visits (one session in one
// week) and weeks. Numbers come from package effort; shares of muscles come
// through the interface Sharer, stated by the library for now.
//
// It judges nothing: package check does. Equations: docs/model/04-week.md.
package session
