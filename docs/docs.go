// Package docs ships the JSON Schemas of the file forms inside the program.
// They are written by docs/gen from the types the readers use.
package docs

import "embed"

// Schemas holds schema/NAME.json for every file form.
//
//go:embed schema/*.json
var Schemas embed.FS
