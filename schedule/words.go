package schedule

import "fmt"

// Words says the objective in sentences, most important first.
func (o Objective) Words() []string {
	out := []string{"Every order is ready in time."}
	if o.Late > 0 {
		out[0] = fmt.Sprintf(
			"Not every order is ready in time: those that are not weigh %d and are %s late, counted by weight; one that lacks pieces counts %d days.",
			o.Late, count(o.Tardiness, "day"), unmadeDays)
	}
	if o.Changes > 0 {
		out = append(out, fmt.Sprintf("Published work changes, weighed at %d: near and promised work counts more.", o.Changes))
	} else {
		out = append(out, "Nothing published changes.")
	}
	if o.NoRemake > 0 {
		out = append(out, fmt.Sprintf("%s could not survive a failed batch.", count(o.NoRemake, "order")))
	}
	if o.CureShort > 0 {
		out = append(out, fmt.Sprintf("Batches are %s short of the wished-for cure in all.", count(o.CureShort, "day")))
	}
	return append(out,
		fmt.Sprintf("%s to pour.", count(o.Batches, "batch")),
		fmt.Sprintf("%s beyond what is asked for.", count(o.Surplus, "piece")))
}

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	if noun == "batch" {
		return fmt.Sprintf("%d batches", n)
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
