package api

import (
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares got with a file under testdata/api.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("..", "testdata", "api", name)
	if *update {
		if err := os.WriteFile(path, got, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path) //nolint:gosec // a path of the test's own
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != string(want) {
		t.Errorf("%s differs; look at it after go test ./api -update", path)
	}
}

type openAPI struct {
	OpenAPI string
	Info    struct{ Title, Version string }
	Servers []struct{ URL string }
	Paths   map[string]map[string]struct {
		OperationID string
		Security    []map[string][]string
		Parameters  []struct {
			Name, In string
			Required bool
		}
		Responses map[string]struct {
			Content map[string]json.RawMessage
		}
	}
	Components struct{ Schemas map[string]json.RawMessage }
}

func readOpenAPI(t *testing.T) openAPI {
	t.Helper()
	res := ask(t, mustNew(t, plainConfig()), http.MethodGet, "/api/v1/openapi.json", "")
	var doc openAPI
	if err := json.NewDecoder(res.Body).Decode(&doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

// The list of operations is the contract with callers: a change of it shows.
func TestOperationsAreAsListed(t *testing.T) {
	doc := readOpenAPI(t)
	var lines []string
	for path, methods := range doc.Paths {
		for method, op := range methods {
			var takes []string
			for _, p := range op.Parameters {
				name := p.In + ":" + p.Name
				if p.Required {
					name += "!"
				}
				takes = append(takes, name)
			}
			slices.Sort(takes)
			lines = append(lines, fmt.Sprintf("%s %s %s [%s]", path, strings.ToUpper(method), op.OperationID, strings.Join(takes, " ")))
		}
	}
	slices.Sort(lines)
	golden(t, "operations.txt", []byte(strings.Join(lines, "\n")+"\n"))
}

func TestOpenAPIDocument(t *testing.T) {
	doc := readOpenAPI(t)
	if !strings.HasPrefix(doc.OpenAPI, "3.1.") || doc.Info.Title != "ripeline" || doc.Info.Version != "test" || doc.Servers[0].URL != "https://soap.example/api/v1" {
		t.Errorf("document says %s %+v %+v", doc.OpenAPI, doc.Info, doc.Servers)
	}
	seen := map[string]bool{}
	for path, methods := range doc.Paths {
		for method, op := range methods {
			if op.OperationID == "" || seen[op.OperationID] {
				t.Errorf("%s %s: operation id %q is empty or used twice", method, path, op.OperationID)
			}
			seen[op.OperationID] = true
			for status, answer := range op.Responses {
				if _, ok := answer.Content[problemType]; strings.HasPrefix(status, "4") && !ok {
					t.Errorf("%s %s: %s is not a problem", method, path, status)
				}
			}
			if isPublic := op.OperationID == "setup" || op.OperationID == "sign-in"; isPublic != (len(op.Security) == 0) {
				t.Errorf("%s %s: security is %v", method, path, op.Security)
			}
		}
	}
	for name, schema := range doc.Components.Schemas {
		if strings.HasPrefix(name, "Error") || strings.Contains(string(schema), `"null"`) && strings.Contains(string(schema), `"array"`) {
			t.Errorf("schema %s: %s", name, schema)
		}
	}
}

func TestOpenAPIReferencesResolve(t *testing.T) {
	res := ask(t, mustNew(t, plainConfig()), http.MethodGet, "/api/v1/openapi.json", "")
	raw, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	doc := readOpenAPI(t)
	for i, part := range strings.Split(string(raw), `"$ref":"`+schemaPrefix) {
		name, _, _ := strings.Cut(part, `"`)
		if _, ok := doc.Components.Schemas[name]; i > 0 && !ok {
			t.Errorf("reference to %q leads nowhere", name)
		}
	}
}

func TestDocsPageLoadsNothingFromElsewhere(t *testing.T) {
	h := mustNew(t, plainConfig())
	page, err := goquery.NewDocumentFromReader(ask(t, h, http.MethodGet, "/api/v1/", "").Body)
	if err != nil {
		t.Fatal(err)
	}
	if n := page.Find("script, style, [style], img, iframe").Length(); n > 0 {
		t.Errorf("page has %d elements its policy forbids", n)
	}
	page.Find("[href], [src]").Each(func(_ int, e *goquery.Selection) {
		link := e.AttrOr("href", e.AttrOr("src", ""))
		if res := ask(t, h, http.MethodGet, link, ""); res.StatusCode != http.StatusOK {
			t.Errorf("%s answers %d", link, res.StatusCode)
		}
	})
	listed := page.Find("tbody tr").Length()
	var operations int
	for _, methods := range readOpenAPI(t).Paths {
		operations += len(methods)
	}
	if listed != operations {
		t.Errorf("page lists %d of %d operations", listed, operations)
	}
}
