package solve

// Live is a copy of a schedule that is changed job by job, while the schedule
// itself stays as it is.
type Live struct{ board *board }

// Live copies a schedule.
func (s *Schedule) Live() *Live { return &Live{s.board.clone()} }

// Place puts one more job where it ends first, or where it is wished to; nil
// when it finds no place. Jobs it is linked to are not looked at.
func (l *Live) Place(job *Job) *Placement {
	pl := l.board.place(job, job.Release, false)
	if pl != nil {
		l.board.commit(&job.Modes[pl.Mode], pl, 1)
	}
	return pl
}

// Remove takes a job away, with all it holds.
func (l *Live) Remove(job *Job, pl *Placement) {
	l.board.commit(&job.Modes[pl.Mode], pl, -1)
}

// Delay moves the last task of a placed job to its first place no earlier than a
// time, the tasks before it staying where they are. Where there is none the job
// is left as it is, and false returned.
func (l *Live) Delay(job *Job, pl *Placement, earliest Time) (*Placement, bool) {
	mode := job.Modes[pl.Mode]
	last := len(mode.Tasks) - 1
	mode.Tasks = append([]Task(nil), mode.Tasks...)
	mode.Tasks[last].Earliest, mode.Tasks[last].Fixed = earliest, false
	l.Remove(job, pl)
	found := l.board.tryMode(&mode, pl.Mode, job.Release, pl.Starts[:last], mode.wishes(), Never)
	if found == nil {
		l.board.commit(&mode, pl, 1)
		return pl, false
	}
	l.board.commit(&mode, found, 1)
	return found, true
}
