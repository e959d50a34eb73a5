package schedule_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

func TestProblemRoundTrip(t *testing.T) {
	for seed := range uint64(30) {
		d := newDice(seed)
		p := d.workshop()
		p = d.advance(publish(p, solved(t, "published", p)))
		d.upset(p)
		var text bytes.Buffer
		if err := schedule.WriteProblem(&text, p); err != nil {
			t.Fatal(err)
		}
		first := text.String()
		again, err := schedule.ReadProblem(&text)
		if err != nil {
			t.Fatalf("workshop %d: %v", seed, err)
		}
		var second bytes.Buffer
		if err := schedule.WriteProblem(&second, again); err != nil {
			t.Fatal(err)
		}
		if first != second.String() {
			t.Errorf("workshop %d: written, read and written again it differs", seed)
		}
		a, b := solved(t, "as it was", p), solved(t, "as it was read", again)
		if !reflect.DeepEqual(a.Objective, b.Objective) {
			t.Errorf("workshop %d: objective %v before, %v after", seed, a.Objective, b.Objective)
		}
	}
}

func TestReadProblemRefuses(t *testing.T) {
	const good = `{"format": "ripeline-problem/1", "now": "2026-03-02T09:00:00Z", "zone": "Europe/Lisbon", "hands": 1, "rack_mm2": 1, "designs": []}`
	if _, err := schedule.ReadProblem(strings.NewReader(good)); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct{ change, to, field, want string }{
		{`"ripeline-problem/1"`, `"ripeline-problem/9"`, "format", "not a format that can be read"},
		{`"hands"`, `"hends"`, "hends", "no such field"},
		{`"hands": 1`, `"hands": "one"`, "hands", "whole number"},
		{`"hands": 1`, `"hands": 0`, "hands", "use 1"},
		{`Europe/Lisbon`, `Atlantis/Harbour`, "zone", "unknown time zone"},
		{`"designs": []`, `"hours": [{"weekday": "noday"}]`, "hours[0].weekday", "monday"},
		{`"designs": []`, `"designs": [{"id": "d", "cure_min": "long"}]`, "designs.cure_min", "whole number"},
		{`"designs": []`, `"designs": [{"id": "d", "suplies": []}]`, "suplies", "no such field"},
		{`"designs": []`, `"designs": [{"id": "d", "supplies_pieces": -1}]`, "designs[d].supplies_pieces", "fewer than no pieces"},
		{`"designs": []`, `"designs": [{"id": "d", "supplies_ready": "2026-03-20", "supplies": [{"pieces": 5}]}]`, "designs[d].supplies", "take out either"},
		{`"designs": []`, `"designs": [{"id": "d", "supplies": [{"pieces": 5}, {"pieces": 9}]}]`, "designs[d].supplies[1].from", "give the day"},
		{`"designs": []`, `"designs": [{"id": "d", "supplies": [{"from": "2026-03-20", "pieces": 5}, {"from": "2026-03-20", "endless": true}]}]`, "designs[d].supplies[1].from", "order of their days"},
		{`"designs": []`, `"designs": [{"id": "d", "supplies": [{"pieces": 5}, {"from": "2026-03-20", "pieces": 5}]}]`, "designs[d].supplies[1].pieces", "more than the 5"},
		{`"designs": []`, `"designs": [{"id": "d", "supplies": [{"endless": true}, {"from": "2026-03-20", "pieces": 5}]}]`, "designs[d].supplies[0].endless", "take out the steps after it"},
		{`"designs": []}`, `"designs": []} {}`, "", "more after the end"},
		{`"designs": []}`, `"designs": [`, "", "ends before"},
		{`"designs"`, `designs`, "", "not JSON"},
	} {
		_, err := schedule.ReadProblem(strings.NewReader(strings.Replace(good, test.change, test.to, 1)))
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: error %v does not say %q", test.to, err, test.want)
			continue
		}
		var field *schedule.FieldError
		if test.field != "" && (!errors.As(err, &field) || field.Field != test.field) {
			t.Errorf("%s: error %v does not name field %s", test.to, err, test.field)
		}
	}
}

// TestSuppliesAsTheyUsedToBeWritten reads files from before supplies came in steps.
func TestSuppliesAsTheyUsedToBeWritten(t *testing.T) {
	ready := civil.Date{Year: 2026, Month: 3, Day: 20}
	for old, want := range map[string][]schedule.Supply{
		`"supplies_ready": "2026-03-20", "supplies_pieces": 30`: {{Pieces: 30}, {From: ready, Endless: true}},
		`"supplies_ready": "2026-03-20"`:                        {{From: ready, Endless: true}},
		`"supplies_pieces": 30`:                                 nil, // there was no end of them
	} {
		p, err := schedule.ReadProblem(strings.NewReader(`{"format": "ripeline-problem/1", "now": "2026-03-02T09:00:00Z", "zone": "Europe/Lisbon", "hands": 1, "rack_mm2": 1,
			"designs": [{"id": "d", ` + old + `}]}`))
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Designs[0].Supplies; !slices.Equal(got, want) {
			t.Errorf("%s is read as %v, want %v", old, got, want)
		}
	}
}

func TestReadProblemTooLarge(t *testing.T) {
	if _, err := schedule.ReadProblem(strings.NewReader(strings.Repeat(" ", 11<<20))); err == nil || !strings.Contains(err.Error(), "10 MB") {
		t.Errorf("11 MB: %v", err)
	}
}

func TestWritePlan(t *testing.T) {
	p := eveningShop()
	enquiry := asking(p, 60, 45)
	enquiry.Accepted = true
	p.Orders = append(p.Orders, enquiry)
	var text bytes.Buffer
	if err := schedule.WritePlan(&text, p, solved(t, "plan", p)); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Format  string
		Words   []string
		Batches []struct {
			Key  string
			Make struct{ From string }
		}
		Diff struct{ Added []string }
	}
	if err := json.Unmarshal(text.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if got.Format != schedule.PlanFormat || len(got.Words) == 0 || len(got.Batches) == 0 || got.Batches[0].Make.From == "" || len(got.Diff.Added) != len(got.Batches) {
		t.Errorf("the plan is written as %s", text.String())
	}
}
