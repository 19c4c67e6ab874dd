package web

import (
	"bytes"
	"compress/gzip"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

// packed are the scripts and styles of the static folder, compressed once; a file that
// does not become smaller is not in it.
func packed(files fs.FS) map[string][]byte {
	out := map[string][]byte{}
	names, err := fs.ReadDir(files, ".")
	if err != nil {
		panic("web: the static files are not there")
	}
	for _, n := range names {
		if ext := path.Ext(n.Name()); ext != ".js" && ext != ".css" && ext != ".svg" {
			continue
		}
		data, err := fs.ReadFile(files, n.Name())
		if err != nil {
			panic("web: a static file cannot be read")
		}
		var b bytes.Buffer
		w, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // the level is one there is
		_, _ = w.Write(data)                                  // into memory
		_ = w.Close()
		if b.Len() < len(data) {
			out[n.Name()] = b.Bytes()
		}
	}
	return out
}

// kinds are the media types of what is compressed.
var kinds = map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".svg": "image/svg+xml"}

// staticFiles serves the static folder, scripts and styles compressed where the browser
// takes that. Pages are not compressed: what is secret in them could be guessed from
// their length.
func staticFiles(files fs.FS) http.Handler {
	small, plain := packed(files), http.FileServerFS(files)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name := strings.TrimPrefix(r.URL.Path, "/")
		w.Header().Set("Cache-Control", "max-age=3600")
		w.Header().Set("Vary", "Accept-Encoding")
		data, ok := small[name]
		if !ok || !strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
			plain.ServeHTTP(w, r)
			return
		}
		w.Header().Set("Content-Encoding", "gzip")
		w.Header().Set("Content-Type", kinds[path.Ext(name)])
		_, _ = w.Write(data) // the browser may have gone
	})
}
