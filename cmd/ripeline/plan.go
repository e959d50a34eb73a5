package main

import (
	"context"
	"fmt"
	"os"

	"ripeline/schedule"
)

// planCmd plans one problem read from a file.
type planCmd struct {
	File   string `arg:"" help:"The problem; - reads standard input." placeholder:"FILE"`
	Budget int    `help:"Schedules the search may build; 0 leaves it to the problem." default:"0"`
}

// Help is shown below the arguments.
func (planCmd) Help() string {
	return "It ends with 3 when there is an order that can not be planned at all; the plan of the others is printed all the same."
}

// Run prints the plan, its objective and its bound as JSON.
func (c planCmd) Run(ctx context.Context, std streams) error {
	in := std.in
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return err
		}
		defer func() { _ = f.Close() }() // read only: nothing can be lost
		in = f
	}
	p, err := schedule.ReadProblem(in)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	if c.Budget > 0 {
		p.Budget = c.Budget
	}
	plan, err := schedule.Solve(ctx, p)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	if err := schedule.WritePlan(std.out, p, plan); err != nil {
		return err
	}
	if len(plan.Problems) > 0 {
		return fmt.Errorf("%w: %s", errInfeasible, plan.Problems[0].Text)
	}
	return nil
}
