// Package form reads and writes Corbel's files: strict YAML with positions.
//
// In goes the text of a file, out comes a filled struct or a Refusal that lists
// what is wrong: line, column, excerpt, what is expected and the nearest known
// name. Several errors are found in one run; a file with any error yields
// nothing. The same struct types give the JSON Schemas (Schema) and the written
// files (Write).
//
// Struct fields carry two tags: `form:"name,required"` and `doc:"what it is"`.
// A type written as one text implements encoding.TextUnmarshaler and
// TextMarshaler; a closed list of words implements Values() []string.
//
// It knows no clients and no blocks; those packages own their types.
package form
