package schedule

import (
	"encoding/json"
	"errors"
	"testing"

	"ripeline/schedule/civil"
)

// TestMisfitsInPlainWords puts every kind of JSON where another belongs.
func TestMisfitsInPlainWords(t *testing.T) {
	t.Parallel()
	found := map[string]string{
		`[]`: "a list", `{}`: "an object", `"x"`: "a text in quotes", `true`: "true or false", `1.5`: "1.5",
	}
	for name, c := range map[string]struct {
		into any
		fits string
		want string
	}{
		"whole":  {new(int), "", "a whole number in digits, and not too large a one"},
		"number": {new(float64), `1.5`, "a number"},
		"truth":  {new(bool), `true`, "true or false"},
		"text":   {new(string), `"x"`, "a text in quotes"},
		"list":   {new([]int), `[]`, "a list"},
		"object": {new(struct{}), `{}`, "an object"},
		"map":    {new(map[string]int), `{}`, "an object"},
		"day":    {new(civil.Date), `"x"`, "a text in quotes"},
	} {
		for raw, said := range found {
			if raw == c.fits {
				continue
			}
			if raw == `1.5` && name != "whole" {
				said = "a number"
			}
			var wrong *json.UnmarshalTypeError
			if err := json.Unmarshal([]byte(raw), c.into); !errors.As(err, &wrong) {
				t.Errorf("%s for a %s: %v", raw, name, err)
			} else if got, want := misfit(wrong), "is "+said+"; it must be "+c.want; got != want {
				t.Errorf("%s for a %s: %q, want %q", raw, name, got, want)
			}
		}
	}
}

// TestMisfitNamesItsEntry has a number where a list holds objects.
func TestMisfitNamesItsEntry(t *testing.T) {
	t.Parallel()
	var into struct{ Days int }
	var field *FieldError
	for raw, at := range map[string]string{`7`: "list[2]", `{"Days": []}`: "list[2].Days"} {
		if err := decodeEntry("a format", "list", 2, json.RawMessage(raw), &into); !errors.As(err, &field) || field.Field != at {
			t.Errorf("%s: %v, want it at %s", raw, err, at)
		}
	}
}
