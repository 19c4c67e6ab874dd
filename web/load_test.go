package web_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"corbel/examples"
	"corbel/practice"
)

// manyClients is how many clients a large practice has.
const manyClients = 500

// crowd adds clients and a block of each, until there are so many.
func (h *house) crowd(t testing.TB, many int) {
	t.Helper()
	names := []string{"rosa", "tomas", "mila"}
	ids := map[string][2]string{"rosa": {"rosa-l", "rosa-b2"}, "tomas": {"tomas-f", "tomas-b1"}, "mila": {"mila-r", "mila-b1"}}
	texts := map[string]string{}
	for _, n := range names {
		for _, kind := range []string{"-client.yaml", "-block.yaml"} {
			text, err := examples.Files.ReadFile(n + kind)
			if err != nil {
				t.Fatal(err)
			}
			texts[n+kind] = string(text)
		}
	}
	for i := range many {
		n := names[i%len(names)]
		id := fmt.Sprintf("crowd-%03d", i)
		c := strings.Replace(texts[n+"-client.yaml"], "id: "+ids[n][0], "id: "+id, 1)
		c = strings.Replace(c, "\nname: ", fmt.Sprintf("\nname: %c%03d ", 'A'+i%26, i), 1)
		b := strings.Replace(texts[n+"-block.yaml"], "id: "+ids[n][1], "id: "+id+"-1", 1)
		if _, err := h.Put(context.Background(), h.coach, practice.ClientDoc, "", c, h.id()); err != nil {
			t.Fatal(err)
		}
		if _, err := h.Put(context.Background(), h.coach, practice.BlockDoc, id, b, h.id()); err != nil {
			t.Fatal(err)
		}
	}
}

// BenchmarkList measures the list of a large practice, as it is asked for while
// somebody types a name.
func BenchmarkList(b *testing.B) {
	h := open(b)
	h.crowd(b, manyClients)
	token, err := h.Admit(context.Background(), h.coach, "a benchmark")
	if err != nil {
		b.Fatal(err)
	}
	c := &http.Client{Transport: withCookie(token)}
	get := func(path string) {
		a, err := c.Get(h.server.URL + path)
		if err != nil {
			b.Fatal(err)
		}
		a.Body.Close()
	}
	start := time.Now()
	get("/")
	b.Logf("the first list, every row made: %v", time.Since(start))
	for _, path := range []string{"/", "/?q=a0", "/?state=need"} {
		b.Run(path, func(b *testing.B) {
			for b.Loop() {
				get(path)
			}
		})
	}
}
