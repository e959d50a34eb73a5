package schedule_test

import (
	"context"
	"fmt"
	"runtime/debug"
	"runtime/metrics"
	"slices"
	"syscall"
	"testing"
	"time"

	"ripeline/schedule"
)

// BenchmarkPlan plans as many batches as a workshop has in a week and in years,
// new and published.
func BenchmarkPlan(b *testing.B) {
	for _, n := range []int{10, 100, 1000, 10000} {
		for _, kind := range []string{"new", "published"} {
			b.Run(fmt.Sprintf("%s/%d", kind, n), func(b *testing.B) {
				p := filledShop(n, false)
				if kind == "published" {
					p = publishedShop(b, n, false)
				}
				b.ReportAllocs()
				peak := watchMemory()
				var plan *schedule.Plan
				for b.Loop() {
					plan = planned(b, p)
				}
				b.ReportMetric(float64(peak())/(1<<20), "peak-MB")
				b.ReportMetric(float64(len(plan.Batches)), "batches")
				b.ReportMetric(float64(plan.Objective.Late), "late")
			})
		}
	}
}

func planned(b testing.TB, p *schedule.Problem) *schedule.Plan {
	b.Helper()
	plan, err := schedule.Solve(context.Background(), p)
	if err != nil {
		b.Fatal(err)
	}
	return plan
}

// watchMemory gives back what memory it can, and looks every millisecond how much
// the program holds of the system's, until the function it returns is called for the
// most that was seen.
func watchMemory() (peak func() uint64) {
	debug.FreeOSMemory()
	stop, most := make(chan struct{}), make(chan uint64)
	go func() {
		tick := time.NewTicker(time.Millisecond)
		defer tick.Stop()
		seen := uint64(0)
		for {
			select {
			case <-stop:
				most <- max(seen, memoryHeld())
				return
			case <-tick.C:
				seen = max(seen, memoryHeld())
			}
		}
	}()
	return func() uint64 {
		close(stop)
		return <-most
	}
}

// memoryHeld is the bytes the program has of the system.
func memoryHeld() uint64 {
	s := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64() - s[1].Value.Uint64()
}

// BenchmarkGrowth plans 1,000 and 10,000 batches in turn, and reports how many
// times the processor time of the one the other takes: the median over the turns,
// each of which has the same company on the machine.
func BenchmarkGrowth(b *testing.B) {
	small, large := filledShop(1000, false), filledShop(10000, false)
	var times []float64
	for b.Loop() {
		few := processorTime(b, func() {
			for range 5 {
				planned(b, small)
			}
		}) / 5
		many := processorTime(b, func() { planned(b, large) })
		times = append(times, float64(many)/float64(few))
	}
	slices.Sort(times)
	b.ReportMetric(times[len(times)/2], "times")
}

// processorTime is how long processors work for fn.
func processorTime(b *testing.B, fn func()) time.Duration {
	b.Helper()
	used := func() time.Duration {
		var u syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
			b.Fatal(err)
		}
		return time.Duration(u.Utime.Nano() + u.Stime.Nano())
	}
	before := used()
	fn()
	return used() - before
}
