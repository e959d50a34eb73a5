package pages

import (
	"io/fs"
	"log/slog"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/alexedwards/scs/v2/memstore"

	"ripeline/orders"
)

func TestEveryTemplateMatchesItsView(t *testing.T) {
	t.Parallel()
	if _, err := loadTemplates(templateFiles, mustLoadAssets(t)); err != nil {
		t.Fatal(err)
	}
}

func mustLoadAssets(t *testing.T) *assets {
	t.Helper()
	files, err := loadAssets()
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// TestBrokenTemplatesFailTheStart breaks one page at a time, also where only a
// filled view leads.
func TestBrokenTemplatesFailTheStart(t *testing.T) {
	t.Parallel()
	for name, broken := range map[string]string{
		"unknown field":            `{{define "main"}}{{.Nothing}}{{end}}`,
		"unknown field in a list":  `{{define "main"}}{{range .Rows}}{{.Nothing}}{{end}}{{end}}`,
		"unknown asset":            `{{define "main"}}{{asset "nothing.css"}}{{end}}`,
		"unclosed action":          `{{define "main"}}{{if .Title}}{{end}}`,
		"unknown part":             `{{define "main"}}{{template "nothing" .}}{{end}}`,
		"unknown field in the new": `{{define "main"}}{{if .New}}{{.New.Nothing}}{{end}}{{end}}`,
	} {
		if _, err := loadTemplates(replaced(t, "templates/records.html", broken), mustLoadAssets(t)); err == nil {
			t.Errorf("%s: the templates load", name)
		}
	}
}

// replaced is the templates with one of them exchanged.
func replaced(t *testing.T, path, content string) fs.FS {
	t.Helper()
	files := fstest.MapFS{}
	err := fs.WalkDir(templateFiles, "templates", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		raw, err := fs.ReadFile(templateFiles, p)
		files[p] = &fstest.MapFile{Data: raw}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	files[path] = &fstest.MapFile{Data: []byte(content)}
	return files
}

func TestConfigIsChecked(t *testing.T) {
	t.Parallel()
	sessions := scs.New()
	sessions.Store = memstore.NewWithCleanupInterval(0)
	good := Config{
		Book: &orders.Book{}, Sessions: sessions, BaseURL: "https://soap.example/", Now: func() time.Time { return time.Time{} }, Log: slog.New(slog.DiscardHandler),
	}
	if _, err := New(good); err != nil {
		t.Fatal(err)
	}
	for _, base := range []string{"", "soap.example", "ftp://soap.example", "https://"} {
		bad := good
		bad.BaseURL = base
		if _, err := New(bad); err == nil || !strings.Contains(err.Error(), "BaseURL") {
			t.Errorf("the address %q gives %v", base, err)
		}
	}
	bad := good
	bad.Book = nil
	if _, err := New(bad); err == nil {
		t.Error("pages without a book start")
	}
}
