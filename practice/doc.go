// Package practice is the flow of the work over stored things, as operations:
// write, check, hand over, change, record, undo. Command line, files and browser
// go through it; it says who may do what, and keeps what each change was made of,
// so that two people at one block lose nothing and a change sent twice is made
// once.
//
// It knows no database and no screen: a Store keeps its documents.
package practice
