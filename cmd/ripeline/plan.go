package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"

	"ripeline/schedule"
)

// planCmd plans one problem read from a file.
type planCmd struct {
	File   string `arg:"" help:"The problem; - reads standard input." placeholder:"FILE"`
	Format string `help:"The format of the problem: ripeline-problem/1, workshop-days or activities; left out, the problem's own field says." enum:",ripeline-problem/1,workshop-days,activities" default:""`
	Budget int    `help:"Schedules the search may build, or steps it may take on a workshop-days problem; 0 leaves it to the problem." default:"0"`
}

// Help is shown below the arguments.
func (planCmd) Help() string {
	return "It ends with 3 when there is an order that can not be planned at all; the plan of the others is printed all the same."
}

// Run prints the plan, its objective and its bound as JSON.
func (c planCmd) Run(ctx context.Context, std streams) error {
	if c.Budget < 0 {
		return errors.New("--budget: must be 0 or more")
	}
	in := std.in
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return err
		}
		defer func() { _ = f.Close() }() // read only: nothing can be lost
		in = f
	}
	data, err := schedule.ReadText(in)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	format := c.Format
	if format == "" {
		format = schedule.FormatOf(data)
	}
	switch format {
	case schedule.DaysFormat:
		return c.planDays(ctx, std, data)
	case schedule.ActivitiesFormat:
		return c.planActivities(ctx, std, data)
	}
	return c.planTimes(ctx, std, data)
}

// planDays plans in days.
func (c planCmd) planDays(ctx context.Context, std streams, data []byte) error {
	p, err := schedule.ReadDays(data)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	plan, err := schedule.SolveDays(ctx, p, c.Budget)
	var none *schedule.InfeasibleError
	if errors.As(err, &none) {
		return fmt.Errorf("%w: %s", errInfeasible, none.Reason)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	return schedule.WriteDaysPlan(std.out, plan)
}

// planActivities schedules activities that share resources.
func (c planCmd) planActivities(ctx context.Context, std streams, data []byte) error {
	p, err := schedule.ReadActivities(data)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	plan, err := schedule.SolveActivities(ctx, p, c.Budget)
	var none *schedule.InfeasibleError
	if errors.As(err, &none) {
		return fmt.Errorf("%w: %s", errInfeasible, none.Reason)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	return schedule.WriteActivitiesPlan(std.out, plan)
}

// planTimes plans in minutes, the product's own problem format.
func (c planCmd) planTimes(ctx context.Context, std streams, data []byte) error {
	p, err := schedule.ReadProblem(bytes.NewReader(data))
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
