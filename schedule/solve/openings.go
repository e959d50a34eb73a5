package solve

// openings knows how long a stretch each window of a calendar has free of one
// resource, so that windows that are full already are passed over without a look.
// Calendars that are one and the same slice share them.
type openings struct {
	calendar int // one that has the windows
	windows  []Window
	use      Use
	longest  []Time // by window
	most     []Time // of each block of windows
}

// block is how many windows are passed over at once.
const block = 32

// newOpenings looks at every calendar with every use that some task has of just
// one resource.
func (b *board) newOpenings() []*openings {
	var out []*openings
	for i := range b.problem.Jobs {
		out = b.withOpenings(out, &b.problem.Jobs[i])
	}
	return out
}

// withOpenings adds the openings that the tasks of a job ask for.
func (b *board) withOpenings(out []*openings, job *Job) []*openings {
	for m := range job.Modes {
		for i := range job.Modes[m].Tasks {
			t := &job.Modes[m].Tasks[i]
			if t.Calendar == Always || len(t.Uses) != 1 || b.openingsOf(out, t) != nil {
				continue
			}
			o := &openings{calendar: t.Calendar, use: t.Uses[0]}
			o.measure(b.problem, b.profiles[o.use.Resource])
			out = append(out, o)
		}
	}
	return out
}

// measure looks at all windows of its calendar.
func (o *openings) measure(problem *Problem, p *profile) {
	windows := problem.Calendars[o.calendar]
	o.windows = windows
	o.longest = make([]Time, len(windows))
	o.most = make([]Time, (len(windows)+block-1)/block)
	for i, w := range windows {
		o.longest[i] = p.longest(w, o.use.Amount)
		o.most[i/block] = max(o.most[i/block], o.longest[i])
	}
}

// changed looks again at the windows that overlap a time.
func (o *openings) changed(p *profile, from, to Time) {
	windows := o.windows
	first := firstWindow(windows, from)
	i := first
	for ; i < len(windows) && windows[i].From < to; i++ {
		o.longest[i] = p.longest(windows[i], o.use.Amount)
	}
	for k := first / block; k*block < i; k++ {
		o.most[k] = 0
		for _, n := range o.longest[k*block : min((k+1)*block, len(windows))] {
			o.most[k] = max(o.most[k], n)
		}
	}
}

// next is the first window from one on that has enough free; without openings
// every window may.
func (o *openings) next(i int, length Time) int {
	if o == nil {
		return i
	}
	for i < len(o.longest) {
		if i%block == 0 && o.most[i/block] < length {
			i += block
			continue
		}
		if o.longest[i] >= length {
			return i
		}
		i++
	}
	return i
}

func (o *openings) clone() *openings {
	c := *o
	c.longest = append([]Time(nil), o.longest...)
	c.most = append([]Time(nil), o.most...)
	return &c
}

// openingsOf finds those of a task, nil for none.
func (b *board) openingsOf(list []*openings, t *Task) *openings {
	if len(t.Uses) != 1 {
		return nil
	}
	for _, o := range list {
		if o.use == t.Uses[0] && same(o.windows, b.problem.Calendars[t.Calendar]) {
			return o
		}
	}
	return nil
}

// reserve changes the use of a resource, and what is open beside it.
func (b *board) reserve(resource int, from, to Time, amount int) {
	if from >= to || amount == 0 {
		return
	}
	p := b.profiles[resource]
	p.add(from, to, amount)
	for _, o := range b.openings {
		if o.use.Resource == resource {
			o.changed(p, from, to)
		}
	}
}

// longest is the longest stretch of a window in which amount more units fit.
func (p *profile) longest(w Window, amount int) Time {
	best, since := 0, w.From
	for i := p.step(w.From); i < len(p.at) && p.at[i] < w.To; i++ {
		if p.level[i] > p.capacity-amount {
			best = max(best, p.at[i]-since)
			since = w.To
			if i+1 < len(p.at) {
				since = min(since, p.at[i+1])
			}
		}
	}
	return max(best, w.To-since)
}
