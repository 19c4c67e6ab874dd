package web

import (
	"maps"
	"slices"
)

// Routes lists the patterns of everything that needs an account, in order.
func Routes() []string {
	return slices.Sorted(maps.Keys((&server{}).routes()))
}
