// Package examples holds the demo: a remote practice in an invented town, two
// clients, a group programme and one of its members. Everything in it is
// invented. The files are embedded, so that `corbel demo` runs anywhere, and
// every one of them is run by a test.
package examples

import "embed"

// Files holds the example files by name.
//
//go:embed *.yaml
var Files embed.FS

// Blocks names the example blocks in the order the demo shows them, each with
// its client.
var Blocks = []string{"rosa-block.yaml", "tomas-block.yaml", "mila-block.yaml"}
