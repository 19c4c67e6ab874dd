package main

import (
	"strings"
	"testing"
)

// Ensure that the practice is not served beyond this machine without an address
// behind TLS.
func TestServeStaysOnTheMachine(t *testing.T) {
	for _, x := range []struct{ addr, base, says string }{
		{"127.0.0.1:0", "", ""},
		{"[::1]:0", "", ""},
		{"localhost:0", "", ""},
		{"0.0.0.0:7420", "", "--base-url"},
		{":7420", "", "--base-url"},
		{"192.0.2.7:7420", "", "--base-url"},
		{"[::]:7420", "", "--base-url"},
		{"practice.example:7420", "", "--base-url"},
		{"0.0.0.0:7420", "http://practice.example", "TLS"},
		{"0.0.0.0:7420", "practice.example", "TLS"},
		{"0.0.0.0:7420", "https://practice.example", ""},
		{"7420", "", "a port"},
	} {
		_, err := (&serveCmd{Addr: x.addr, BaseURL: x.base}).base()
		if (err == nil) != (x.says == "") || err != nil && !strings.Contains(err.Error(), x.says) {
			t.Errorf("--addr %s --base-url %q gave %v", x.addr, x.base, err)
		}
	}
}
