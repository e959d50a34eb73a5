package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ripeline/orders"
	"ripeline/schedule"
)

var update = flag.Bool("update", false, "write the golden files anew")

// commands are all there are; TestHelp finds one that is missing here.
var commands = [...]string{"serve", "demo", "migrate", "plan", "promise", "workshop", "backup", "restore", "version"}

// TestHelp holds what --help says against a file that people have read.
func TestHelp(t *testing.T) {
	t.Parallel()
	root := mustRun(t, "", "--help")
	shown := "$ ripeline --help\n" + root
	known := 0
	for _, name := range commands {
		if strings.Contains(root, "\n  "+name) {
			known++
		}
		shown += "\n$ ripeline " + name + " --help\n" + mustRun(t, "", name, "--help")
	}
	if listed := strings.Count(root, "\n\n  "); known != len(commands) || listed != len(commands)-1 {
		t.Errorf("--help lists %d further commands, of %d known here it names %d", listed, len(commands), known)
	}
	golden := filepath.Join("..", "..", "testdata", "cli", "help.golden")
	if *update {
		if err := os.WriteFile(golden, []byte(shown), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	before := append(strings.Split(string(want), "\n"), make([]string, len(shown))...)
	if shown != string(want) && strings.HasPrefix(string(want), shown) {
		t.Error("--help ends early")
	}
	for i, line := range strings.Split(shown, "\n") {
		if line != before[i] {
			t.Fatalf("--help has changed; read it, then run: go test ./cmd/ripeline -run TestHelp -update\nline %d was %q and is %q", i+1, before[i], line)
		}
		if len([]rune(line)) > 100 || strings.HasSuffix(line, " ") {
			t.Errorf("line %d of the help is wider than a terminal or ends in blanks: %q", i+1, line)
		}
	}
}

func TestVersion(t *testing.T) {
	t.Parallel()
	if got := mustRun(t, "", "version"); got != "ripeline "+testVersion+"\n" {
		t.Errorf("version says %q", got)
	}
}

// TestBadCommandLines tries what can be mistyped. Each must name what is wrong
// on standard error, print nothing else and end with 1.
func TestBadCommandLines(t *testing.T) {
	t.Parallel()
	nowhere := "postgres://nobody@127.0.0.1:1/none"
	for line, wants := range map[string]string{
		"":              "expected one of",
		"bogus":         "bogus",
		"--bogus":       "unknown flag --bogus",
		"serve --bogus": "unknown flag --bogus",
		"serve extra":   "unexpected argument extra",
		"serve --log-level loud --database-url " + nowhere: "--log-level must be one of",
		"plan":                               "<file>",
		"plan no-such-file":                  "no-such-file",
		"plan . extra":                       "unexpected argument extra",
		"backup":                             "<file>",
		"restore no-such":                    "no-such",
		"version now":                        "unexpected argument now",
		"migrate --database-url " + nowhere:  "connection refused",
		"backup b --database-url " + nowhere: "connection refused",
		"promise --email a@b.example --design OAT":                                             "missing flags: --by",
		"promise --email a@b.example --design OAT --pieces many --by 2027-01-01":               "--pieces",
		"promise --email a@b.example --design OAT --pieces 60 --by 2027-02-30":                 "--by",
		"promise --email a@b.example --design OAT --pieces 60 --by soon":                       "--by",
		"workshop --name Tidepool --zone Europe/Lisbon --owner Mara --database-url " + nowhere: "missing flags: --email",
	} {
		got := command(t, "", strings.Fields(line)...)
		if got.code != 1 || got.out != "" || !strings.HasPrefix(got.err, "ripeline: ") || !strings.Contains(got.err, wants) {
			t.Errorf("ripeline %s: %+v, want %q in it", line, got, wants)
		}
	}
}

// planned is what the tests look at in a printed plan.
type planned struct {
	Format  string
	Words   []string
	Batches []schedule.PlanBatch
	Orders  []schedule.OrderOutcome
}

// problemFile is an example that people may begin with.
var problemFile = filepath.Join("..", "..", "testdata", "cli", "problem.json")

// example is the text of problemFile with old replaced by new.
func example(t *testing.T, old, changed string) string {
	t.Helper()
	raw, err := os.ReadFile(problemFile)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Count(string(raw), old) != 1 {
		t.Fatalf("the example has %q %d times", old, strings.Count(string(raw), old))
	}
	return strings.Replace(string(raw), old, changed, 1)
}

func TestPlanOfAFile(t *testing.T) {
	t.Parallel()
	file, err := filepath.Abs(problemFile)
	if err != nil {
		t.Fatal(err)
	}
	text := mustRun(t, "", "plan", file)
	if again := mustRun(t, example(t, "ripeline-problem", "ripeline-problem"), "plan", "-"); again != text {
		t.Error("the same problem read from standard input has another plan")
	}
	var p planned
	if err := json.Unmarshal([]byte(text), &p); err != nil {
		t.Fatal(err)
	}
	if p.Format != schedule.PlanFormat || len(p.Words) == 0 || p.Words[0] != "Every order is ready in time." {
		t.Errorf("the plan begins with %q and %q", p.Format, p.Words)
	}
	sound := 0
	for _, b := range p.Batches {
		sound += b.Sound
	}
	if sound < 60 || len(p.Orders) != 1 || p.Orders[0].Missed() || p.Orders[0].Ready.IsZero() {
		t.Errorf("%d sound pieces for 60 asked for; the order: %+v", sound, p.Orders)
	}
}

func TestPlanThatCanNotBe(t *testing.T) {
	t.Parallel()
	got := command(t, example(t, `"fits": [{"mold_id": "loaf", "full": 24, "min": 12, "step": 1}]`, `"fits": []`), "plan", "-")
	if got.code != exitInfeasible || !strings.Contains(got.err, "fits no mold") || !json.Valid([]byte(got.out)) {
		t.Errorf("a design without a mold: %+v", got)
	}
	for _, test := range []struct{ old, changed, wants string }{
		{`"hours"`, `"huors"`, "huors"},
		{`"hours": [`, `"hours": [[], `, "hours"},
		{`"hands": 1`, `"hands": 0`, "hands"},
		{`"design_id": "oat"`, `"design_id": "rye"`, "orders[naming-day].lines[favours].design_id"},
		{`2026-04-24`, `2026-04-31`, "2026-04-31"},
	} {
		got := command(t, example(t, test.old, test.changed), "plan", "-")
		if got.code != 1 || got.out != "" || !strings.Contains(got.err, test.wants) {
			t.Errorf("%s: %+v, want %q in it", test.changed, got, test.wants)
		}
	}
}

// TestPromise asks a running workshop from the command line.
func TestPromise(t *testing.T) {
	t.Parallel()
	db := newDatabase(t)
	c := setUp(t, start(t, "serve", "--database-url", db.OwnerURL))
	furnish(c)
	ask := func(email, design string, pieces, days int) finished {
		return command(t, "", "promise", "--database-url", db.OwnerURL, "--email", email, "--design", design,
			"--pieces", strconv.Itoa(pieces), "--by", today(t).AddDays(days).String())
	}
	for _, test := range []struct {
		email, design string
		pieces, days  int
		says          []string
	}{
		{ownerEmail, "Pebble", 60, 45, []string{"yes: ready on ", "Last safe pour: "}},
		{ownerEmail, "peb", 60, 45, []string{"yes: ready on "}},
		{ownerEmail, "PEB", 60, 20, []string{"no", "because It has to cure for at least 28 days", "Earliest date that can be promised: "}},
	} {
		got := ask(test.email, test.design, test.pieces, test.days)
		for _, text := range test.says {
			if got.code != 0 || got.err != "" || !strings.Contains(got.out, text) {
				t.Errorf("%+v: %+v, want %q in it", test, got, text)
			}
		}
	}
	for _, test := range []struct {
		email, design string
		pieces, days  int
		says          string
	}{
		{"nobody@tidepool.example", "PEB", 60, 45, "--email: nobody signs in with nobody@tidepool.example"},
		{ownerEmail, "OAT", 60, 45, `--design: there is no "OAT"; there are: Pebble`},
		{ownerEmail, "PEB", 0, 45, "pieces"},
		{ownerEmail, "PEB", 1_000_000, 45, "pieces"},
		{ownerEmail, "PEB", 60, -1, "is in the past"},
	} {
		got := ask(test.email, test.design, test.pieces, test.days)
		if got.code != 1 || got.out != "" || !strings.Contains(got.err, test.says) {
			t.Errorf("%+v: %+v", test, got)
		}
	}
	if all := listed[orders.Order](c, "/orders?"); len(all) > 0 {
		t.Errorf("asking wrote %d orders", len(all))
	}
}

// TestPrivateDatabaseIsKept uses commands on a data directory without a
// service, beside one, and after it.
func TestPrivateDatabaseIsKept(t *testing.T) {
	t.Parallel()
	data := newDataDir(t)
	for range 2 {
		if got := mustRun(t, "", "migrate", "--data", data); got != "The database is up to date.\n" {
			t.Errorf("migrate says %q", got)
		}
	}
	s := start(t, "serve", "--data", data)
	if got := command(t, "", "serve", "--addr", "127.0.0.1:0", "--data", data); got.code != 1 || !strings.Contains(got.err, data) {
		t.Errorf("a second service on one data directory: %+v", got)
	}
	c := setUp(t, s)
	addWorkshop := func(password, email string) finished {
		return command(t, password+"\n", "workshop", "--data", data, "--name", "Lee shore", "--zone", zoneName, "--owner", "Ivo", "--email", email)
	}
	for password, wants := range map[string]string{"": "password", "short": "password: must have at least"} {
		if got := addWorkshop(password, "ivo@lee.example"); got.code != 1 || !strings.Contains(got.err, wants) {
			t.Errorf("a workshop whose owner has the password %q: %+v", password, got)
		}
	}
	if got := addWorkshop(ownerPassword, ownerEmail); got.code != 1 || !strings.Contains(got.err, "mail") {
		t.Errorf("a second person of one e-mail address: %+v", got)
	}
	if got := addWorkshop(ownerPassword, "ivo@lee.example"); got.code != 0 || !strings.Contains(got.out, "Lee shore is set up") {
		t.Errorf("a second workshop: %+v", got)
	}
	s.stop()
	again := start(t, "serve", "--data", data)
	if strings.Contains(again.said.String(), "Set it up") {
		t.Errorf("started again, it wants to be set up: %s", again.said)
	}
	c.base = again.base
	if w := got[orders.Workshop](c, "/workshop"); w.Name != "Tidepool" {
		t.Errorf("started again, the workshop is %+v", w)
	}
	for _, email := range []string{ownerEmail, "ivo@lee.example"} {
		in := c.send(http.MethodPost, "/sign-in", map[string]any{"email": email, "password": ownerPassword})
		if in.status != http.StatusCreated {
			t.Errorf("%s can not sign in: %s", email, in)
		}
	}
}

// TestDemoIsKept starts the demo twice: the second finds what the first made,
// with the same password.
func TestDemoIsKept(t *testing.T) {
	t.Parallel()
	data := newDataDir(t)
	var plans [2]string
	var passwords [2]string
	for i := range plans {
		s := start(t, "demo", "--data", data)
		email, password, _ := strings.Cut(s.line("Sign in as "), " with the password ")
		c := caller{t: t, base: s.base}
		made := c.send(http.MethodPost, "/sign-in", map[string]any{"email": email, "password": password})
		c.token = answered[struct{ Secret string }](t, made, http.StatusCreated).Secret
		view := got[orders.PlanView](c, "/plan")
		if len(view.Batches) < 5 || len(listed[orders.Order](c, "/orders?")) < 5 || !got[orders.Workshop](c, "/workshop").Demo {
			t.Errorf("the demo has %d batches and few orders", len(view.Batches))
		}
		plans[i], passwords[i] = string(c.send(http.MethodGet, "/plan", nil).body), password
		s.stop()
	}
	if plans[0] != plans[1] || passwords[0] != passwords[1] {
		t.Error("started again, the demo is another")
	}
}

// TestMistypedSettingsLeaveNothingBehind gives each command a setting that can
// not be, and looks whether a database was made all the same.
func TestMistypedSettingsLeaveNothingBehind(t *testing.T) {
	for name, c := range map[string]struct {
		args []string
		says string
	}{
		"backup of nothing":  {[]string{"backup", filepath.Join(t.TempDir(), "b")}, "--data"},
		"promise of nothing": {[]string{"promise", "--email", "a@b.example", "--design", "X", "--pieces", "1", "--by", "2030-01-01"}, "--data"},
		"workshop nowhere":   {[]string{"workshop", "--name", "A", "--zone", "UTC", "--owner", "B", "--email", "a@b.example"}, "--data"},
		"base address":       {[]string{"serve", "--base-url", "soap.example"}, "--base-url"},
		"sender":             {[]string{"serve", "--smtp-url", "smtp://localhost:25"}, "--mail-from"},
		"proxy":              {[]string{"serve", "--trust-proxy", "10.0.0.1"}, "--trust-proxy"},
		"budget":             {[]string{"plan", "--budget=-4", "-"}, "--budget"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Setenv("DATABASE_URL", "")
			dir := filepath.Join(t.TempDir(), "data")
			args := c.args
			if args[0] != "plan" {
				args = append(args, "--data", dir)
			}
			var out bytes.Buffer
			err := run(t.Context(), args, streams{strings.NewReader("a long password\n"), &out, &out})
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("said %v, want it to name %s", err, c.says)
			}
			if _, err := os.Stat(dir); err == nil {
				t.Error("a data directory was made")
			}
		})
	}
}
