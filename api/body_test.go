package api

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/danielgtaylor/huma/v2/adapters/humachi"
	"github.com/go-chi/chi/v5"

	"ripeline/orders"
	"ripeline/schedule"
)

// echo is a server with one public operation that sends a T back.
func echo[T any](t testing.TB) http.Handler {
	t.Helper()
	cfg, base, err := plainConfig().checked()
	if err != nil {
		t.Fatal(err)
	}
	s := &server{cfg: cfg, base: base}
	r := chi.NewRouter()
	r.Use(numbered, sized)
	s.json = humachi.New(r, s.description())
	s.describeProblem()
	add(s, route{method: http.MethodPost, path: "/echo", id: "echo", access: public},
		func(_ context.Context, _ orders.Actor, in *making[T]) (*told[T], error) {
			return have(in.Body.Value, nil)
		})
	s.enrich()
	return r
}

func TestBodyFaultsNameTheField(t *testing.T) {
	order, mold, shop, person := echo[orders.OrderInput](t), echo[orders.Mold](t), echo[orders.Workshop](t), echo[orders.PersonInput](t)
	for name, c := range map[string]struct {
		h         http.Handler
		body      string
		status    int
		locations []string
		says      string
	}{
		"nothing":            {order, ``, 400, nil, "Send one"},
		"not JSON":           {order, `{"title": }`, 400, []string{"body"}, "at byte 11"},
		"cut short":          {order, `{"title": "x"`, 400, []string{"body"}, "not JSON"},
		"two documents":      {order, `{} {}`, 400, []string{"body"}, "not JSON"},
		"not UTF-8":          {order, "{\"title\": \"\xff\"}", 400, []string{"body"}, "UTF-8"},
		"a list":             {order, `[]`, 422, []string{"body"}, "must be an object"},
		"a word":             {order, `"order"`, 422, []string{"body"}, "must be an object"},
		"nothing at all":     {order, `null`, 422, []string{"body"}, "must be an object"},
		"unknown field":      {order, `{"tittle": "x"}`, 422, []string{"body.tittle"}, "how it is spelt"},
		"unknown deep field": {order, `{"lines": [{}, {"colour": "red"}]}`, 422, []string{"body.lines[1].colour"}, "not a field"},
		"text for a number":  {order, `{"lines": [{"pieces": "60"}]}`, 422, []string{"body.lines[0].pieces"}, "whole number"},
		"half a piece":       {order, `{"lines": [{"pieces": 1.5}]}`, 422, []string{"body.lines[0].pieces"}, "whole number"},
		"a huge number":      {order, `{"lines": [{}, {"pieces": 1e30}]}`, 422, []string{"body.lines[1].pieces"}, "whole number"},
		"no such day":        {order, `{"needed_by": "2027-02-29"}`, 422, []string{"body.needed_by"}, "2026-12-03"},
		"no day at all":      {order, `{"needed_by": "soon"}`, 422, []string{"body.needed_by"}, "year-month-day"},
		"a number for a day": {order, `{"needed_by": 20270101}`, 422, []string{"body.needed_by"}, "text"},
		"two faults":         {order, `{"needed_by": "soon", "weight": "9", "x": 1}`, 422, []string{"body.needed_by", "body.weight", "body.x"}, ""},
		"unknown word":       {mold, `{"kind": "bucket"}`, 422, []string{"body.kind"}, `one of "loaf, slab, cavity"`},
		"no such time":       {shop, `{"hours": [{"weekday": 2, "from": "18:00", "to": "25:00"}]}`, 422, []string{"body.hours[0].to"}, "18:30"},
		"unknown step":       {shop, `{"hours": [{"steps": ["make", "nap"]}]}`, 422, []string{"body.hours[0].steps[1]"}, "one of"},
		"pointed-to time":    {person, `{"digest_at": "late"}`, 422, []string{"body.digest_at"}, "18:30"},
	} {
		t.Run(name, func(t *testing.T) {
			p := problemIn(t, ask(t, c.h, http.MethodPost, "/echo", c.body), c.status)
			if !slices.Equal(p.locations(), c.locations) {
				t.Errorf("faults are at %v, want %v", p.locations(), c.locations)
			}
			said := p.Detail
			for _, f := range p.Errors {
				said += " " + f.Message
			}
			if !strings.Contains(said, c.says) {
				t.Errorf("says %q, want something with %q", said, c.says)
			}
		})
	}
}

func TestBodiesOfOtherTypesAreRefused(t *testing.T) {
	h := echo[orders.OrderInput](t)
	for _, ct := range []string{"application/x-www-form-urlencoded", "text/plain", "application/xml"} {
		problemIn(t, ask(t, h, http.MethodPost, "/echo", `{}`, "Content-Type", ct), http.StatusUnsupportedMediaType)
	}
	if res := ask(t, h, http.MethodPost, "/echo", `{}`, "Content-Type", "application/json; charset=utf-8"); res.StatusCode != http.StatusOK {
		t.Errorf("JSON with a charset: %d", res.StatusCode)
	}
}

func TestUnknownParametersAreRefused(t *testing.T) {
	p := problemIn(t, ask(t, echo[orders.OrderInput](t), http.MethodPost, "/echo?dry_run=1", `{}`), http.StatusUnprocessableEntity)
	if !slices.Equal(p.locations(), []string{"query.dry_run"}) {
		t.Errorf("faults are at %v", p.locations())
	}
}

func TestRefusalDoesNotEchoValues(t *testing.T) {
	res := ask(t, echo[setupRequest](t), http.MethodPost, "/echo", `{"password": "hunter22hunter22", "x": 1, "name": 5}`)
	p := problemIn(t, res, http.StatusUnprocessableEntity)
	raw, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(raw), "hunter22") {
		t.Errorf("the password comes back: %s", raw)
	}
}

func TestEmptyListsAreLists(t *testing.T) {
	res := ask(t, echo[orders.Workshop](t), http.MethodPost, "/echo", `{"hours": [{"weekday": 2, "from": "18:00", "to": "21:00"}], "version": 3}`)
	var got struct {
		Hours []struct{ Steps json.RawMessage }
	}
	if err := json.NewDecoder(res.Body).Decode(&got); err != nil {
		t.Fatal(err)
	}
	if len(got.Hours) != 1 || string(got.Hours[0].Steps) != "[]" {
		t.Errorf("got %+v", got)
	}
}

// TestInstantsAreSentInUTC sends what a workshop east of Greenwich reckoned, at
// every depth that an answer has.
func TestInstantsAreSentInUTC(t *testing.T) {
	t.Parallel()
	east := noon.In(time.FixedZone("east", 3600))
	sent, err := filled(nil, "", &told[schedule.Answer]{schedule.Answer{
		RemakeBy: east, Plan: &schedule.Plan{Batches: []schedule.PlanBatch{{CutFrom: east, Cut: schedule.Interval{From: east}}}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	raw, err := json.Marshal(sent)
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(raw), `"2026-12-03T12:00:00Z"`); n != 3 || strings.Contains(string(raw), "+01:00") {
		t.Errorf("%d of 3 instants are in UTC: %s", n, raw)
	}
}

// FuzzBody: whatever is sent, the answer is an order or a problem, never a
// panic or a fault of the service.
func FuzzBody(f *testing.F) {
	for _, seed := range []string{
		``, `{}`, `{"lines":[{"pieces":1e400}]}`, `{"needed_by":"0000-00-00"}`, `{"LINES":[null,{"Pieces":-0}]}`,
		`{"lines":{"0":{}}}`, `{"hand_over_days":null}`, `[[[[`, "\"\\ud800\"", `{"a":1,"a":2}`, `{"lines":[{"id":7}]}`,
	} {
		f.Add([]byte(seed))
	}
	h := echo[orders.OrderInput](f)
	f.Fuzz(func(t *testing.T, body []byte) {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/echo", strings.NewReader(string(body))))
		if w.Code != http.StatusOK && w.Code != http.StatusBadRequest && w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d %s", body, w.Code, w.Body)
		}
		if !json.Valid(w.Body.Bytes()) {
			t.Errorf("%q: answer is not JSON: %s", body, w.Body)
		}
	})
}
