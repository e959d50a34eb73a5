package solve

// profile is the use of one resource over time: level[i] units from at[i] up to
// at[i+1]. The first step lies before every time.
type profile struct {
	capacity int
	at       []Time
	level    []int
}

func newProfile(r Resource) *profile {
	p := &profile{capacity: r.Capacity, at: []Time{-Never}, level: []int{0}}
	for _, t := range r.Taken {
		p.add(t.From, t.To, t.Amount)
	}
	return p
}

func (p *profile) clone() *profile {
	return &profile{
		capacity: p.capacity,
		at:       append(make([]Time, 0, len(p.at)+64), p.at...),
		level:    append(make([]int, 0, len(p.level)+64), p.level...),
	}
}

// step is the index of the step that holds t.
func (p *profile) step(t Time) int {
	return upper(p.at, t) - 1
}

// split makes a step begin at t and returns its index.
func (p *profile) split(t Time) int {
	i := p.step(t)
	if p.at[i] == t {
		return i
	}
	p.at = append(p.at, 0)
	p.level = append(p.level, 0)
	copy(p.at[i+2:], p.at[i+1:])
	copy(p.level[i+2:], p.level[i+1:])
	p.at[i+1], p.level[i+1] = t, p.level[i]
	return i + 1
}

// add changes the use by amount over [from, to). A negative amount takes an
// earlier addition back.
func (p *profile) add(from, to Time, amount int) {
	if from >= to || amount == 0 {
		return
	}
	i := p.split(from)
	j := p.split(to)
	for k := i; k < j; k++ {
		p.level[k] += amount
	}
	p.join(j)
	p.join(i)
}

// join removes step i when it continues the one before, so that taking an
// addition back leaves no trace.
func (p *profile) join(i int) {
	if i == 0 || p.level[i] != p.level[i-1] {
		return
	}
	p.at = append(p.at[:i], p.at[i+1:]...)
	p.level = append(p.level[:i], p.level[i+1:]...)
}

// blocked looks for the last moments in [from, to) at which amount more units do
// not fit. free is the first later time at which they do; Never when they never
// do again.
func (p *profile) blocked(from, to Time, amount int) (at, free Time, found bool) {
	limit := p.capacity - amount
	first := p.step(from)
	for i := p.step(to - 1); i >= first; i-- {
		if p.level[i] <= limit {
			continue
		}
		end := i + 1
		for end < len(p.at) && p.level[end] > limit {
			end++
		}
		if end == len(p.at) {
			return max(p.at[i], from), Never, true
		}
		return max(p.at[i], from), p.at[end], true
	}
	return 0, 0, false
}

// gap is the first time from one on at which amount more units fit for a length
// of time; Never when they never do.
func (p *profile) gap(from, length Time, amount int) Time {
	for i := p.step(from); i < len(p.at); i++ {
		if p.level[i] > p.capacity-amount {
			if i+1 == len(p.at) {
				return Never
			}
			from = p.at[i+1]
		} else if i+1 == len(p.at) || p.at[i+1]-from >= length {
			return from
		}
	}
	return from
}

// freeUntil is the first time from from on, and at most limit, at which amount
// more units do not fit.
func (p *profile) freeUntil(from, limit Time, amount int) Time {
	for i := p.step(from); i < len(p.at) && p.at[i] < limit; i++ {
		if p.level[i] > p.capacity-amount {
			return max(from, p.at[i])
		}
	}
	return limit
}

// upper is the index of the first of ascending times after t. It is written out
// because it is where the planner spends its time.
func upper(times []Time, t Time) int {
	low, high := 0, len(times)
	for low < high {
		middle := int(uint(low+high) >> 1)
		if times[middle] > t {
			high = middle
		} else {
			low = middle + 1
		}
	}
	return low
}
