//go:build tools

package sheet

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"corbel/exercise"
	"corbel/form"
)

// A browser is Chromium under the DevTools protocol over a pipe: messages of JSON,
// each ended by a zero byte.
type browser struct {
	t       *testing.T
	in      *os.File
	out     *bufio.Reader
	session string
	last    int
}

// startBrowser starts Chromium with one page.
func startBrowser(t *testing.T) *browser {
	t.Helper()
	commands, in, err1 := os.Pipe()
	answers, out, err2 := os.Pipe()
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	cmd := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--remote-debugging-pipe", "--user-data-dir="+t.TempDir())
	cmd.ExtraFiles = []*os.File{commands, out}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	commands.Close()
	out.Close()
	b := &browser{t: t, in: in, out: bufio.NewReader(answers)}
	t.Cleanup(func() {
		b.session = ""
		b.call("Browser.close", map[string]any{})
		in.Close()
		_ = cmd.Wait() // how it ends is no part of the test
		answers.Close()
	})
	target := b.call("Target.createTarget", map[string]any{"url": "about:blank"})["targetId"]
	session, ok := b.call("Target.attachToTarget", map[string]any{"targetId": target, "flatten": true})["sessionId"].(string)
	if !ok {
		t.Fatal("the page has no session")
	}
	b.session = session
	b.call("Page.enable", map[string]any{})
	return b
}

// message is what the browser sends: an answer or an event.
type message struct {
	ID     int            `json:"id"`
	Method string         `json:"method"`
	Result map[string]any `json:"result"`
	Error  *struct {
		Message string `json:"message"`
	} `json:"error"`
}

// next reads one message.
func (b *browser) next() message {
	b.t.Helper()
	line, err := b.out.ReadBytes(0)
	if err != nil {
		b.t.Fatalf("the browser fell silent: %v", err)
	}
	var m message
	if err := json.Unmarshal(line[:len(line)-1], &m); err != nil {
		b.t.Fatal(err)
	}
	return m
}

// call sends a command and returns its answer.
func (b *browser) call(method string, params map[string]any) map[string]any {
	b.t.Helper()
	b.last++
	command := map[string]any{"id": b.last, "method": method, "params": params}
	if b.session != "" {
		command["sessionId"] = b.session
	}
	text, err := json.Marshal(command)
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := b.in.Write(append(text, 0)); err != nil {
		b.t.Fatal(err)
	}
	for {
		if m := b.next(); m.ID == b.last {
			if m.Error != nil {
				b.t.Fatalf("%s: %s", method, m.Error.Message)
			}
			return m.Result
		}
	}
}

// open loads a file at a width, px, and waits until it is there.
func (b *browser) open(file string, width int) {
	b.t.Helper()
	b.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false})
	b.last++
	text, err := json.Marshal(map[string]any{"id": b.last, "method": "Page.navigate", "sessionId": b.session, "params": map[string]any{"url": "file://" + file}})
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := b.in.Write(append(text, 0)); err != nil {
		b.t.Fatal(err)
	}
	for b.next().Method != "Page.loadEventFired" {
	}
}

// value evaluates an expression in the page.
func (b *browser) value(expression string) any {
	b.t.Helper()
	result, ok := b.call("Runtime.evaluate", map[string]any{"expression": expression, "returnByValue": true})["result"].(map[string]any)
	if !ok {
		b.t.Fatalf("%s has no value", expression)
	}
	return result["value"]
}

// key presses a key.
func (b *browser) key(name string, code int) {
	b.t.Helper()
	for _, kind := range []string{"rawKeyDown", "keyUp"} {
		b.call("Input.dispatchKeyEvent", map[string]any{"type": kind, "key": name, "code": name, "windowsVirtualKeyCode": code})
	}
	if name == "Enter" {
		b.call("Input.dispatchKeyEvent", map[string]any{"type": "char", "text": "\r"})
	}
}

// focused says where the keyboard is: number of the link in the page (-1 for
// none), and whether it is framed and wholly in sight.
const focused = `(() => { const e = document.activeElement, r = e.getBoundingClientRect(), s = getComputedStyle(e);
return [...document.links].indexOf(e) + ' ' + (s.outlineStyle != 'none' && parseFloat(s.outlineWidth) >= 2) + ' ' +
(r.left >= 0 && r.top >= 0 && r.bottom <= innerHeight && r.right <= innerWidth) })()`

// Ensure that the keyboard alone walks the page in a browser, wide and narrow: Tab
// reaches every link in order, each framed and in sight, then leaves the page and
// starts over; Enter on a session goes to it; nothing scrolls sideways.
func TestPageByKeyboard(t *testing.T) {
	browser := startBrowser(t)
	for _, name := range []string{"rosa", "worst"} {
		b, c := worst(t)
		if name != "worst" {
			b, c = example(t, name)
		}
		page, err := HTML(NewContent(b, c, exercise.Shipped, form.German, nil, ""))
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "sheet.html")
		if err := os.WriteFile(file, page, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, width := range []int{1400, 390} {
			browser.open(file, width)
			links := strings.Count(string(page), "<a ")
			if n := browser.value("document.links.length"); n != float64(links) || links < len(b.Sessions) {
				t.Fatalf("%s: %v links in the browser, %d in the page", name, n, links)
			}
			for i := range links + 2 {
				browser.key("Tab", 9)
				want := fmt.Sprintf("%d true true", i)
				got := browser.value(focused)
				if at, _, _ := strings.Cut(fmt.Sprint(got), " "); i == links && at != "-1" {
					t.Errorf("%s, %d px: after the last link the keyboard is at %v, want outside", name, width, got)
				}
				if i == links {
					continue
				}
				if i > links {
					want = "0 true true"
				}
				if got != want {
					t.Errorf("%s, %d px, Tab %d: link, frame, in sight: %v, want %s", name, width, i+1, got, want)
				}
			}
			browser.key("Enter", 13)
			if got := browser.value("location.hash"); got != "#"+string(b.Sessions[0].ID) {
				t.Errorf("%s, %d px: Enter on the first session leads to %v", name, width, got)
			}
			if browser.value("document.documentElement.scrollWidth > innerWidth") != false {
				t.Errorf("%s, %d px: the page scrolls sideways", name, width)
			}
		}
	}
}
