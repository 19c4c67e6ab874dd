module corbel

go 1.27.3

require (
	github.com/alecthomas/kong v1.17.0
	github.com/goccy/go-yaml v1.19.2
	pgregory.net/rapid v1.3.0
)
