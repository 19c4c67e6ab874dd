//go:build screens

package web_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
)

// screens are the pages that make screens pictures: of the examples, and of the worst.
var screens = []struct{ name, path string }{
	{"sign-in", "/sign-in"}, {"clients", "/"}, {"client", "/clients/rosa-l"}, {"client-worst", "/clients/worst"}, {"intake", "/clients/mila-r/intake"}, {"new-block", "/clients/rosa-l/new-block"},
	{"propose", "/clients/rosa-l/propose?ask=yes"}, {"block", "/blocks/rosa-b2"}, {"block-worst", "/blocks/worst-b"}, {"board", "/blocks/rosa-b2/board"}, {"week", "/blocks/rosa-b2/week"},
	{"record", "/blocks/rosa-b2/record?session=a&week=1"}, {"hand-over", "/blocks/rosa-b2/hand-over"}, {"hand-over-stopped", "/blocks/mila-b1/hand-over"}, {"history", "/blocks/rosa-b2/history"},
	{"file", "/clients/rosa-l/file"}, {"exercises", "/exercises"}, {"exercise", "/exercises/hex-bar-deadlift?client=rosa-l"}, {"group", "/groups/valley"}, {"settings", "/settings"}, {"refused", "/clients/nobody"},
}

// Pictures: as high as two windows at most, in so many colours.
const (
	pictureHigh = 1400
	colours     = 28
)

// TestScreens writes pictures of every screen, on a desk and on a telephone, light and
// dark, into docs/screens.
func TestScreens(t *testing.T) {
	dir := "../docs/screens"
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	h := open(t)
	worst(t, h)
	p := h.tab(t, h.coach)
	p.allow("status of 404", "the document's frame is sandboxed")
	total := 0
	for _, s := range screens {
		p.size(deskWide)
		p.visit(s.path)
		js[bool](p, `document.fonts.ready.then(() => true)`)
		for _, width := range []int64{deskWide, phoneWide} {
			for _, dark := range []bool{false, true} {
				p.size(width)
				p.dark(dark)
				high := min(max(js[int64](p, `document.documentElement.scrollHeight`), 300), pictureHigh)
				call(p, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: high, DeviceScaleFactor: 1})
				shot := call(p, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: "png"})
				name := fmt.Sprintf("%s-%d-%s.png", s.name, width, map[bool]string{false: "light", true: "dark"}[dark])
				total += write(t, filepath.Join(dir, name), shot.Data)
			}
		}
	}
	t.Logf("%d pictures, %.1f MB", 4*len(screens), float64(total)/1e6)
}

// write stores a picture in few colours and returns its size, bytes.
func write(t *testing.T, name string, data []byte) int {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	e := png.Encoder{CompressionLevel: png.BestCompression}
	if err := e.Encode(&out, fewColours(img)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return out.Len()
}

// fewColours redraws a picture in its most frequent colours; a screen has few.
func fewColours(img image.Image) *image.Paletted {
	type rgb [3]uint8
	at := func(x, y int) rgb {
		r, g, b, _ := img.At(x, y).RGBA()
		return rgb{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8)}
	}
	count := map[rgb]int{}
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			count[at(x, y)]++
		}
	}
	var all []rgb
	for c := range count {
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b rgb) int {
		if d := count[b] - count[a]; d != 0 {
			return d
		}
		return slices.Compare(a[:], b[:])
	})
	palette := color.Palette{}
	for _, c := range all { // none near one that is there already
		if len(palette) == colours {
			break
		}
		if len(palette) == 0 || far(palette, c) {
			palette = append(palette, color.RGBA{c[0], c[1], c[2], 255})
		}
	}
	index := map[rgb]uint8{}
	out := image.NewPaletted(b, palette)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			c := at(x, y)
			i, ok := index[c]
			if !ok {
				i = uint8(palette.Index(color.RGBA{c[0], c[1], c[2], 255}))
				index[c] = i
			}
			out.SetColorIndex(x, y, i)
		}
	}
	return out
}

// far says whether a colour differs from each of a palette.
func far(palette color.Palette, c [3]uint8) bool {
	for _, p := range palette {
		q := p.(color.RGBA)
		d := func(a, b uint8) int { return (int(a) - int(b)) * (int(a) - int(b)) }
		if d(q.R, c[0])+d(q.G, c[1])+d(q.B, c[2]) < 150 {
			return false
		}
	}
	return true
}
