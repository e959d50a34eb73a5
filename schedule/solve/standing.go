package solve

// Insert finds the best placement of one more job next to a schedule, which
// stays as it is; nil when there is none. Links of the job are not looked at.
func (s *Schedule) Insert(job *Job) *Placement {
	return s.board.place(job, job.Release, true)
}

// Latest is the last release with which one more job still ends by its due time
// next to a schedule, which stays as it is; false when none does. It searches
// by halving, since a later release never makes a placement earlier.
func (s *Schedule) Latest(job *Job) (Time, bool) {
	inTime := func(release Time) bool {
		for m := range job.Modes {
			pl := s.board.tryMode(&job.Modes[m], m, release, nil, job.Modes[m].wishes())
			if pl != nil && pl.End() <= job.Due {
				return true
			}
		}
		return false
	}
	low := max(job.Release, s.board.problem.Start)
	if low >= job.Due || !inTime(low) {
		return 0, false
	}
	high := job.Due
	for low+1 < high {
		if middle := low + (high-low)/2; inTime(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low, true
}

// Without is the schedule with one job taken out, the others where they are.
func (s *Schedule) Without(job int) *Schedule {
	b := s.board.clone()
	if pl := b.jobs[job]; pl != nil {
		b.commit(&b.problem.Jobs[job].Modes[pl.Mode], pl, -1)
		b.jobs[job] = nil
	}
	return &Schedule{Jobs: b.jobs, Objective: b.problem.rate(&Schedule{Jobs: b.jobs}), board: b}
}
