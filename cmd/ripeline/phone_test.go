package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

const (
	mostBytes  = 100_000 // that a page may weigh with all that it loads
	phoneWidth = 390     // in CSS pixels
)

// phone is a browser window as narrow as a phone's. It watches every page: what
// it weighs, whom it calls, what it complains of, and whether it fits.
type phone struct {
	t    testing.TB
	ctx  context.Context // of the browser's tab
	base string

	mu     sync.Mutex
	weight float64 // bytes loaded since the last page was asked for
	status int64   // of that page
	faults []string
}

// browserPath finds a browser by its usual names.
func browserPath(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	missing(t, "Chromium")
	return ""
}

// newPhone opens a browser of its own on the service at base.
func newPhone(t testing.TB, base string) *phone {
	t.Helper()
	// The browser's own sandbox does not work for root and in many containers,
	// and all that is opened here is ours.
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath(browserPath(t)), chromedp.NoSandbox)
	allocated, endAll := chromedp.NewExecAllocator(context.WithoutCancel(t.Context()), options...)
	t.Cleanup(endAll)
	tab, end := chromedp.NewContext(allocated)
	t.Cleanup(end)
	p := &phone{t: t, ctx: tab, base: base}
	p.do(chromedp.EmulateViewport(phoneWidth, 844, chromedp.EmulateMobile))
	if err := chromedp.Listen(tab, p.watch); err != nil {
		t.Fatal(err)
	}
	// Every page pays for its assets anew.
	p.call(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, network.SetCacheDisabled, network.SetCacheDisabledParams{CacheDisabled: true})
		return err
	})
	return p
}

// withoutScripts turns JavaScript off.
func (p *phone) withoutScripts() *phone {
	p.t.Helper()
	p.call(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return err
	})
	return p
}

// watch takes note of an event of the browser.
func (p *phone) watch(event any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		if at := e.Request.URL; !strings.HasPrefix(at, p.base+"/") && !strings.HasPrefix(at, "data:") {
			p.faults = append(p.faults, "the page asks for "+at)
		}
	case *network.EventResponseReceived:
		if e.Type == network.ResourceTypeDocument {
			p.status = e.Response.Status
		}
	case *network.EventLoadingFinished:
		p.weight += e.EncodedDataLength
	case *runtime.EventExceptionThrown:
		p.faults = append(p.faults, "exception: "+e.ExceptionDetails.Text)
	case *runtime.EventConsoleAPICalled:
		p.faults = append(p.faults, fmt.Sprintf("console.%s is called", e.Type))
	case *log.EventEntryAdded:
		if e.Entry.Level != log.EntryLevelVerbose {
			p.faults = append(p.faults, fmt.Sprintf("%s %s: %s %s", e.Entry.Source, e.Entry.Level, e.Entry.Text, e.Entry.URL))
		}
	}
}

// call runs f, which may take as long as any step.
func (p *phone) call(f func(context.Context) error) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if err := f(ctx); err != nil {
		p.t.Fatal(err)
	}
}

func (p *phone) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	// The first step opens the tab, which must outlive it.
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.t.Fatal(err)
	}
}

// open asks for a page, which must be there.
func (p *phone) open(path string) {
	p.t.Helper()
	p.load("open "+path, http.StatusOK, chromedp.Navigate(p.base+path))
}

// load takes steps that lead to another page, and looks at that.
func (p *phone) load(what string, status int, steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	const shown = `document.readyState === "complete" ? performance.timeOrigin : 0`
	before := value[float64](p, shown)
	p.mu.Lock()
	p.weight, p.status = 0, 0
	p.mu.Unlock()
	p.call(func(ctx context.Context) error {
		if err := chromedp.Do(ctx, steps...); err != nil {
			return fmt.Errorf("%s: %w", what, err)
		}
		return nil
	})
	await(p.t, "the page after "+what, func() bool {
		ctx, cancel := context.WithTimeout(p.ctx, patience)
		defer cancel()
		now, err := chromedp.Run(ctx, chromedp.Evaluate[float64](shown))
		return err == nil && now != 0 && now != before // no answer while one page gives way to another
	})
	p.mu.Lock()
	got := p.status
	p.mu.Unlock()
	if got != int64(status) {
		p.t.Fatalf("%s: %s answers %d, want %d: %s", what, value[string](p, `location.pathname`), got, status, p.text("main"))
	}
	p.look(what)
}

// look checks the page that is shown now.
func (p *phone) look(what string) {
	p.t.Helper()
	for _, fault := range p.faultsNow() {
		p.t.Errorf("%s: %s", what, fault)
	}
}

// faultsNow is what is wrong with the page that is shown now.
func (p *phone) faultsNow() []string {
	p.t.Helper()
	width := value[int](p, `document.documentElement.scrollWidth`)
	p.mu.Lock()
	defer p.mu.Unlock()
	faults := p.faults
	p.faults = nil
	if width > phoneWidth {
		faults = append(faults, fmt.Sprintf("the page is %d wide on a screen of %d", width, phoneWidth))
	}
	if p.weight > mostBytes {
		faults = append(faults, fmt.Sprintf("the page weighs %.0f bytes, more than %d", p.weight, mostBytes))
	}
	return faults
}

// value is what an expression comes to in the page.
func value[T any](p *phone, expression string) T {
	p.t.Helper()
	var out T
	p.call(func(ctx context.Context) (err error) {
		out, err = chromedp.Run(ctx, chromedp.Evaluate[T](expression))
		return err
	})
	return out
}

// text is the words at a selector, with single blanks; "" where there is none.
func (p *phone) text(selector string) string {
	p.t.Helper()
	all := value[string](p, fmt.Sprintf(`[...document.querySelectorAll(%q)].map(e => e.textContent).join(" ")`, selector))
	return strings.Join(strings.Fields(all), " ")
}

// shows checks that the words at a selector contain some.
func (p *phone) shows(selector, words string) {
	p.t.Helper()
	if got := p.text(selector); !strings.Contains(got, words) {
		p.t.Fatalf("%s at %s says %q, want %q in it; the page: %s", value[string](p, `location.pathname`), selector, got, words, p.text("main"))
	}
}

// count is how many elements fit a selector.
func (p *phone) count(selector string) int {
	p.t.Helper()
	return value[int](p, fmt.Sprintf(`document.querySelectorAll(%q).length`, selector))
}

// attribute is that of the first element at a selector.
func (p *phone) attribute(selector, name string) string {
	p.t.Helper()
	return value[string](p, fmt.Sprintf(`document.querySelector(%q)?.getAttribute(%q) ?? ""`, selector, name))
}

// option is the value of a select's option by its label.
func (p *phone) option(name, label string) string {
	p.t.Helper()
	found := value[string](p, fmt.Sprintf(`[...document.querySelectorAll('select[name="%s"] option')].find(o => o.textContent.trim() === %q)?.value ?? ""`, name, label))
	if found == "" {
		p.t.Fatalf("%s offers no %q", name, label)
	}
	return found
}

// send fills in the form at a selector and presses a button of it. A box is
// ticked by any text and cleared by none.
func (p *phone) send(form, button string, inputs map[string]string) {
	p.t.Helper()
	var steps []chromedp.Action[chromedp.Void]
	for name, text := range inputs {
		at := fmt.Sprintf(`%s [name="%s"]`, form, name)
		if p.count(at) == 0 {
			p.t.Fatalf("the form %s has no input %q", form, name)
		}
		if box := fmt.Sprintf(`document.querySelector(%q)`, at); value[string](p, box+".type") == "checkbox" {
			if value[bool](p, box+".checked") != (text != "") {
				steps = append(steps, chromedp.Click(chromedp.CSS(at)))
			}
			continue
		}
		steps = append(steps, chromedp.SetValue(chromedp.CSS(at), text))
	}
	p.load(form, http.StatusOK, append(steps, chromedp.Click(chromedp.CSS(form+" "+button)))...)
}

// TestPhoneNotices shows the phone a page that does all that ours must not.
func TestPhoneNotices(t *testing.T) {
	t.Parallel()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Security-Policy", "default-src 'self'; script-src 'nonce-known'; img-src *")
		if _, err := io.WriteString(w, `<!doctype html><meta name="viewport" content="width=device-width"><p style="color: red">Red</p>
<script>alert(1)</script><script nonce="known">console.warn("look out"); throw new Error("broken")</script>
<table width="900"><tr><td>`+strings.Repeat("wide ", 25_000)+`</td></tr></table><img src="http://localhost:1/elsewhere.png">`); err != nil {
			t.Error(err)
		}
	}))
	defer s.Close()
	p := newPhone(t, s.URL)
	p.do(chromedp.Navigate(s.URL))
	all := strings.Join(p.faultsNow(), "\n")
	for _, fault := range []string{
		"inline style", "inline script", "console.warning", "exception", "asks for http://localhost:1/elsewhere.png", "wide on a screen", "the page weighs",
	} {
		if !strings.Contains(all, fault) {
			t.Errorf("it did not notice: %s. What it noticed:\n%s", fault, all)
		}
	}
}
