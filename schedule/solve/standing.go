package solve

// Latest is the last release with which some more jobs still end by their due
// times next to a schedule, which stays as it is: each as late as can be beside
// those before it. False when one of them finds none, or there are none.
func (s *Schedule) Latest(jobs ...Job) (Time, bool) {
	beside, first, found := s, Never, false
	for i := range jobs {
		at, ok := beside.latest(&jobs[i])
		if !ok {
			return 0, false
		}
		if first, found = min(first, at), true; i+1 < len(jobs) {
			beside = beside.with(&jobs[i], at)
		}
	}
	return first, found
}

// with is the schedule with one more job placed from a time on.
func (s *Schedule) with(job *Job, from Time) *Schedule {
	b := s.board.clone()
	if pl := b.place(job, from, false); pl != nil {
		b.commit(&job.Modes[pl.Mode], pl, 1)
	}
	return &Schedule{board: b}
}

// latest is the last release of one more job. It searches backwards from the due
// time by doubling steps, then by halving, since a later release never makes a
// placement earlier.
func (s *Schedule) latest(job *Job) (Time, bool) {
	low := max(job.Release, s.board.problem.Start)
	latest, found := low, false
	for m := range job.Modes {
		if from := latest + 1; !found || s.inTime(job, m, from) {
			if at, ok := s.latestOf(job, m, low); ok && (!found || at > latest) {
				latest, found = at, true
			}
		}
	}
	return latest, found
}

// inTime reports whether one mode ends by the job's due time.
func (s *Schedule) inTime(job *Job, mode int, release Time) bool {
	m := &job.Modes[mode]
	return s.board.tryMode(m, mode, release, nil, m.wishes(), job.Due) != nil
}

// latestOf is the last release of one mode, no earlier than low.
func (s *Schedule) latestOf(job *Job, mode int, low Time) (Time, bool) {
	high := job.Due - s.board.least(&job.Modes[mode])
	for step := minutesInDay; ; step *= 2 {
		at := max(low, high-step)
		if at >= high {
			return 0, false
		}
		if s.inTime(job, mode, at) {
			low = at
			break
		}
		high = at
	}
	for low+1 < high {
		if middle := low + (high-low)/2; s.inTime(job, mode, middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low, true
}

// minutesInDay is the first step back of the search for the latest release.
const minutesInDay = 24 * 60

// least is a time that a mode always takes longer than, so that a release this
// long before the due time is late. A lag in cells counts from the start of its
// first task, whose length is within it.
func (b *board) least(m *Mode) Time {
	sum := 0
	for i := range m.Tasks {
		sum += m.Tasks[i].length()
	}
	for i := range m.Lags {
		if lag := &m.Lags[i]; !lag.Cells {
			sum += lag.Min
		} else if lag.Min > 1 {
			sum += max(0, (lag.Min-1)*b.shortest-m.Tasks[lag.From].length())
		}
	}
	return sum - 1
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

// Extend places more jobs next to a schedule, which stays as it is. The problem
// is that of the schedule with jobs added at the end, and possibly with other
// calendars and goals; its resources and its grid are the same.
func (s *Schedule) Extend(p *Problem) *Schedule {
	b := s.board.clone()
	b.problem = p
	b.reopen(len(s.Jobs))
	b.jobs = append(b.jobs, make([]*Placement, len(p.Jobs)-len(b.jobs))...)
	for j := len(s.Jobs); j < len(p.Jobs); j++ {
		b.insert(j, false)
	}
	out := &Schedule{Jobs: b.jobs, Built: s.Built, board: b}
	out.Objective = p.rate(out)
	return out
}

// reopen looks anew at the openings where calendars are not what they were, and
// adds those that only jobs from a place on ask for.
func (b *board) reopen(from int) {
	for _, o := range b.openings {
		if !same(b.problem.Calendars[o.calendar], o.windows) {
			o.measure(b.problem, b.profiles[o.use.Resource])
		}
	}
	for j := from; j < len(b.problem.Jobs); j++ {
		b.openings = b.withOpenings(b.openings, &b.problem.Jobs[j])
	}
}

// same reports whether two calendars are one and the same.
func same(x, y []Window) bool {
	return len(x) == len(y) && (len(x) == 0 || &x[0] == &y[0])
}
