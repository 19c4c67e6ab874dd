package web_test

import (
	"compress/gzip"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"
)

// firstPage is what the first page may take on the wire, bytes (issue: 300 KB).
const firstPage = 300_000

// Ensure that no page takes more than 300 KB with its styles, scripts, fonts and
// figures that are not fetched later, and that what comes compressed is the file.
func TestFirstPageIsSmall(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	fetch := func(path string) (body string, wire int) {
		r, err := http.NewRequest(http.MethodGet, h.server.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Accept-Encoding", "gzip") // asked for by us, so not undone by the client
		a, err := c.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		if a.StatusCode != http.StatusOK {
			t.Fatalf("%s gave %d", path, a.StatusCode)
		}
		raw, err := io.ReadAll(a.Body)
		if err != nil {
			t.Fatal(err)
		}
		text := string(raw)
		if a.Header.Get("Content-Encoding") == "gzip" {
			z, err := gzip.NewReader(strings.NewReader(text))
			if err != nil {
				t.Fatal(err)
			}
			plain, err := io.ReadAll(z)
			if err != nil {
				t.Fatal(err)
			}
			text = string(plain)
			if own, _ := h.get(t, c, path); own != text {
				t.Errorf("%s differs when it comes compressed", path)
			}
		}
		return text, len(raw)
	}
	parts := regexp.MustCompile(`(?:src|href)="(/static/[^"]+)"`)
	fonts := regexp.MustCompile(`url\(([a-z]+\.woff2)\)`)
	for _, page := range []string{"/", "/blocks/rosa-b2", "/blocks/rosa-b2/board", "/clients/rosa-l"} {
		text, size := fetch(page)
		for _, m := range parts.FindAllStringSubmatch(text, -1) {
			body, n := fetch(m[1])
			size += n
			for _, f := range fonts.FindAllStringSubmatch(body, -1) {
				_, n := fetch("/static/" + f[1])
				size += n
			}
		}
		t.Logf("%s: %d bytes", page, size)
		if size > firstPage {
			t.Errorf("%s takes %d bytes", page, size)
		}
	}
}
