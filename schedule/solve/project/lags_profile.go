package project

import (
	"cmp"
	"slices"
)

// user is an activity's use of a resource.
type user struct {
	start    int32 // variable
	duration int32
	demand   int32
}

// supply is a renewable resource. Its profile is what activities use for sure:
// one that starts by its latest and ends by its earliest end uses the time
// between in every schedule left.
type supply struct {
	capacity int32
	users    []user
	starting []int32 // users by latest start
	ending   []int32 // users by earliest end
	times    []int32 // where the profile's pieces begin
	heights  []int32
	dirty    bool
}

// build renews the profile; it returns its greatest height and where that is.
func (e *engine) build(r *supply) (height, at int32) {
	latest := func(u int32) int32 { return e.most(r.users[u].start) }
	soonest := func(u int32) int32 { return e.least(r.users[u].start) + r.users[u].duration }
	resort(r.starting, latest)
	resort(r.ending, soonest)
	r.times, r.heights = r.times[:0], r.heights[:0]
	var now int32
	end := 0
	for i := 0; i < len(r.starting) || end < len(r.ending); {
		var t int32
		var change int32
		if i < len(r.starting) && (end == len(r.ending) || latest(r.starting[i]) < soonest(r.ending[end])) {
			u := r.starting[i]
			i++
			t = latest(u)
			if t >= soonest(u) {
				continue
			}
			change = r.users[u].demand
		} else {
			u := r.ending[end]
			end++
			t = soonest(u)
			if latest(u) >= t {
				continue
			}
			change = -r.users[u].demand
		}
		now += change
		if n := len(r.times); n > 0 && r.times[n-1] == t {
			r.heights[n-1] = now
		} else {
			r.times, r.heights = append(r.times, t), append(r.heights, now)
		}
	}
	for k, h := range r.heights {
		if h > height {
			height, at = h, r.times[k]
		}
	}
	return height, at
}

// resort sorts what is nearly sorted.
func resort(list []int32, key func(int32) int32) {
	for i := 1; i < len(list); i++ {
		x := list[i]
		k := key(x)
		j := i
		for j > 0 && key(list[j-1]) > k {
			list[j] = list[j-1]
			j--
		}
		list[j] = x
	}
}

// fit pushes starts out of times at which a resource has no room for them.
func (e *engine) fit(id int32) bool {
	r := &e.supplies[id]
	height, at := e.build(r)
	if height > r.capacity {
		e.broken = e.whyFull(e.broken[:0], id, at, none, int32(len(e.steps)))
		return false
	}
	for u := range r.users {
		w := &r.users[u]
		if w.demand+height <= r.capacity || e.fixed(w.start) {
			continue
		}
		if !e.later(r, id, w) || !e.earlier(r, id, w) {
			return false
		}
	}
	return true
}

// piece is the profile's piece at a time; none before the first.
func (r *supply) piece(t int32) int {
	k, found := slices.BinarySearch(r.times, t)
	if found {
		return k
	}
	return k - 1
}

// later pushes an activity's earliest start behind full times. Each step is at
// most as long as the activity, so that one full point explains it.
func (e *engine) later(r *supply, id int32, u *user) bool {
	start, room := e.least(u.start), r.capacity-u.demand
	sure := e.most(u.start) // from here on the activity is in the profile itself
	for k := max(r.piece(start), 0); k < len(r.times) && r.times[k] < min(start+u.duration, sure); k++ {
		if r.heights[k] <= room || r.times[k+1] <= start {
			continue
		}
		for start < r.times[k+1] {
			t := min(r.times[k+1], start+u.duration)
			if !e.set(literal{2 * u.start, t}, reason{byProfile, id, t - 1}) {
				return false
			}
			start = t
		}
	}
	return true
}

// earlier is the mirror of later: it pulls the latest end before full times.
func (e *engine) earlier(r *supply, id int32, u *user) bool {
	end, room := e.most(u.start)+u.duration, r.capacity-u.demand
	sure := e.least(u.start) + u.duration // up to here the activity is in the profile itself
	for k := r.piece(end - 1); k >= 0; k-- {
		if k+1 == len(r.times) {
			continue
		}
		if r.times[k+1] <= max(end-u.duration, sure) {
			return true
		}
		if r.heights[k] <= room || r.times[k] >= end {
			continue
		}
		for end > r.times[k] {
			t := max(r.times[k], end-u.duration)
			if !e.set(literal{2*u.start + 1, u.duration - t}, reason{byProfile, id, t}) {
				return false
			}
			end = t
		}
	}
	return true
}

// whyProfile explains why a start was pushed to at least at by a full point.
func (e *engine) whyProfile(why reason, l literal, step int32, out []literal) []literal {
	v := l.side / 2
	u := e.userOf(why.of, v)
	t := l.at - 1
	if l.side&1 == 1 {
		t = u.duration - l.at
	}
	if t != why.at && !e.full(why.of, t, u, step) {
		t = why.at
	}
	if l.side&1 == 0 {
		out = append(out, literal{l.side, t + 1 - u.duration})
	} else {
		out = append(out, literal{l.side, -t})
	}
	return e.whyFull(out, why.of, t, v, step)
}

// userOf is the use of a resource by the activity that a variable starts.
func (e *engine) userOf(id, v int32) *user {
	r := &e.supplies[id]
	return &r.users[r.index(v)]
}

// index finds a start among the users, which are in the order of their starts.
func (r *supply) index(v int32) int {
	i, _ := slices.BinarySearchFunc(r.users, v, func(u user, v int32) int { return cmp.Compare(u.start, v) })
	return i
}

// covers are the literals that make a user run at a time in any case.
func (u *user) covers(t int32) (begun, going literal) {
	return literal{2*u.start + 1, -t}, literal{2 * u.start, t + 1 - u.duration}
}

// full reports whether, before a step, others left no room for u at a time.
func (e *engine) full(id, t int32, u *user, step int32) bool {
	r := &e.supplies[id]
	left := r.capacity - u.demand
	for i := range r.users {
		w := &r.users[i]
		if w.start == u.start {
			continue
		}
		begun, going := w.covers(t)
		if e.lowBefore(begun.side, step) >= begun.at && e.lowBefore(going.side, step) >= going.at {
			left -= w.demand
		}
	}
	return left < 0
}

// witness is a user that runs at the time to explain.
type witness struct {
	begun, going literal
	demand       int32
	step         int32 // the later of the steps that made it so
}

// whyFull lists users that run at t and together leave no room: for the
// activity that starts with except, or (none) for themselves. Of more than
// are needed those that became sure last are left out: the conflict then
// reaches further back.
func (e *engine) whyFull(out []literal, id, t, except, step int32) []literal {
	r := &e.supplies[id]
	spare := -r.capacity - 1
	e.seen = e.seen[:0]
	for i := range r.users {
		w := &r.users[i]
		if w.start == except {
			spare += w.demand
			continue
		}
		begun, going := w.covers(t)
		if e.lowBefore(begun.side, step) >= begun.at && e.lowBefore(going.side, step) >= going.at {
			spare += w.demand
			e.seen = append(e.seen, witness{begun, going, w.demand, max(e.cost(begun), e.cost(going))})
		}
	}
	slices.SortStableFunc(e.seen, func(a, b witness) int {
		return cmp.Or(cmp.Compare(b.step, a.step), cmp.Compare(a.demand, b.demand))
	})
	for _, w := range e.seen {
		if w.demand <= spare {
			spare -= w.demand
			continue
		}
		out = append(out, w.begun, w.going)
	}
	return out
}
