package web_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"corbel/examples"
	"corbel/exercise"
	"corbel/plan"
	"corbel/practice"
	"corbel/store"
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

// The load of a large practice: so many coaches, seconds, and requests a second;
// CORBEL_LOAD_RATE sets other than 200 of them where a machine does other work too.
const (
	loadCoaches = 50
	loadSeconds = 60
)

func loadRate() int {
	if n, err := strconv.Atoi(os.Getenv("CORBEL_LOAD_RATE")); err == nil && n > 0 {
		return n
	}
	return 200
}

// BenchmarkLoad serves a practice of 500 clients by the program itself and asks it as
// 50 coaches do, for a minute. It reports percentiles, errors, memory and cold start;
// run it with -benchtime=1x.
func BenchmarkLoad(b *testing.B) {
	program := filepath.Join(b.TempDir(), "corbel")
	if out, err := exec.Command("go", "build", "-o", program, "../cmd/corbel").CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	dir := b.TempDir()
	tokens := loadStore(b, dir)
	for range b.N {
		started := time.Now()
		cmd := exec.Command(program, "serve", "--data", dir, "--addr", "127.0.0.1:0")
		cmd.Env = append(os.Environ(), "XDG_CACHE_HOME="+b.TempDir())
		stdout, err := cmd.StdoutPipe()
		if err == nil {
			err = cmd.Start()
		}
		if err != nil {
			b.Fatal(err)
		}
		line, err := bufio.NewReader(stdout).ReadString('\n')
		at := strings.TrimSpace(line[strings.LastIndex(line, " ")+1:])
		if err != nil || !strings.HasPrefix(at, "http://") {
			b.Fatalf("the program said %q: %v", line, err)
		}
		first := &http.Client{Transport: withCookie(tokens[0])}
		if _, err := fetchAll(first, at+"/sign-in"); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(time.Since(started).Milliseconds()), "cold-ms")
		for i := 0; ; i++ { // until every row of the list has been made once
			page, err := fetchAll(first, at+"/")
			if err != nil {
				b.Fatal(err)
			}
			if i == 0 {
				b.ReportMetric(float64(time.Since(started).Milliseconds()), "first-list-ms")
			}
			if !strings.Contains(page, "still being checked") {
				break
			}
			time.Sleep(time.Second)
		}
		b.ReportMetric(time.Since(started).Seconds(), "all-rows-s")
		times, failed := load(at, tokens)
		slices.Sort(times)
		percentile := func(p int) float64 { return float64(times[(len(times)-1)*p/100].Microseconds()) / 1000 }
		b.ReportMetric(percentile(50), "p50-ms")
		b.ReportMetric(percentile(99), "p99-ms")
		b.ReportMetric(float64(failed), "errors")
		b.ReportMetric(peak(b, cmd.Process.Pid), "MB-peak")
		if err := cmd.Process.Signal(os.Interrupt); err != nil {
			b.Fatal(err)
		}
		if err := cmd.Wait(); err != nil {
			b.Fatal(err)
		}
		user := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
		b.ReportMetric(user.Seconds(), "cpu-s")
	}
}

// loadStore fills a store with 500 clients and 50 coaches and returns a token of each.
func loadStore(b *testing.B, dir string) (tokens []string) {
	ctx := context.Background()
	s, err := store.OpenSQLite(ctx, dir)
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	h := &house{Practice: practice.New(s, exercise.Shipped, time.Now, plan.MadeWith{Program: "benchmark"})}
	link, err := h.SetUpLink(ctx)
	if err == nil {
		h.coach, err = h.SetUp(ctx, link, "Ida Holm", "ida@example.org", "four words of ours")
	}
	if err != nil {
		b.Fatal(err)
	}
	h.crowd(b, manyClients)
	for i := range loadCoaches {
		a, err := h.AddAccount(ctx, h.coach, fmt.Sprintf("Coach %d", i), fmt.Sprintf("coach%d@example.org", i), "four words of ours", practice.Coach)
		if err != nil {
			b.Fatal(err)
		}
		token, err := h.Admit(ctx, a, "a benchmark")
		if err != nil {
			b.Fatal(err)
		}
		tokens = append(tokens, token)
	}
	return tokens
}

// load asks for pages and changes doses at the rate, each coach in turn, and returns
// how long each answer took from when it was due.
func load(at string, tokens []string) (times []time.Duration, failed int) {
	var mu sync.Mutex
	var all sync.WaitGroup
	begin := time.Now()
	rate := loadRate()
	for i := range rate * loadSeconds {
		due := begin.Add(time.Duration(i) * time.Second / time.Duration(rate))
		time.Sleep(time.Until(due))
		all.Go(func() {
			c := &http.Client{Transport: withCookie(tokens[i%len(tokens)]), Timeout: time.Minute}
			err := step(c, at, i)
			mu.Lock()
			defer mu.Unlock()
			times = append(times, time.Since(due))
			if err != nil {
				failed++
			}
		})
	}
	all.Wait()
	return times, failed
}

// step is one request of the mixed load: of ten, three lists and searches, three
// blocks, two clients, a record, a dose.
func step(c *http.Client, at string, i int) error {
	who := fmt.Sprintf("crowd-%03d", i*7%manyClients)
	var err error
	switch i % 10 {
	case 0:
		_, err = fetchAll(c, at+"/")
	case 1, 2:
		_, err = fetchAll(c, at+fmt.Sprintf("/?q=%c%02d", 'a'+i%26, i%100))
	case 3, 4, 5:
		_, err = fetchAll(c, at+"/blocks/"+who+"-1")
	case 6, 7:
		_, err = fetchAll(c, at+"/clients/"+who)
	case 8:
		_, err = fetchAll(c, at+"/blocks/"+who+"-1/record")
	default:
		who = fmt.Sprintf("crowd-%03d", i*7%manyClients/3*3) // one of Rosa's kind
		form := url.Values{"op": {fmt.Sprintf("load-%020d", i)}, "do": {"down"}, "slot": {"a1"}}
		a, e := c.Post(at+"/blocks/"+who+"-1/slot", "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
		if err = e; err == nil {
			a.Body.Close()
			if a.StatusCode != http.StatusOK && a.StatusCode != http.StatusUnprocessableEntity && a.StatusCode != http.StatusConflict {
				err = fmt.Errorf("a change gave %s", a.Status)
			}
		}
	}
	return err
}

// fetchAll reads a page whole.
func fetchAll(c *http.Client, at string) (string, error) {
	a, err := c.Get(at)
	if err != nil {
		return "", err
	}
	defer a.Body.Close()
	text, err := io.ReadAll(a.Body)
	if err == nil && a.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s gave %s", at, a.Status)
	}
	return string(text), err
}

// peak is the most memory a process held, MB.
func peak(b *testing.B, pid int) float64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		b.Fatal(err)
	}
	_, after, _ := strings.Cut(string(text), "VmHWM:")
	var kb float64
	if _, err := fmt.Sscan(after, &kb); err != nil {
		b.Fatal(err)
	}
	return kb / 1000
}
