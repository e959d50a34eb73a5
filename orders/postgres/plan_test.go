package postgres_test

import (
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

func TestTasksComeBackAsStored(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	if missing := unset("Task", reflect.ValueOf(w.Task)); !slices.Equal(missing, []string{"Task.AllDay"}) {
		t.Fatalf("the sample leaves out %v", missing)
	}
	allDay := orders.Task{
		Kind: orders.TaskCure, Day: day(3, 3), LastDay: day(4, 10), AllDay: true, Status: orders.TaskOpen, ChangedAt: noon(3, 1),
	}
	later := w.Task
	later.ID, later.Day, later.LastDay = "", day(5, 1), day(5, 1)
	put := []orders.Task{later, allDay}
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.PutTasks(t.Context(), put) })
	later, allDay = put[0], put[1]
	changed := w.Task
	changed.Title, changed.Sequence, changed.Status = "Cut at last", 3, orders.TaskDone
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.PutTasks(t.Context(), []orders.Task{changed}) })
	for from, want := range map[civil.Date][]orders.Task{
		{}:         {allDay, changed, later},
		day(3, 4):  {allDay, changed, later},
		day(3, 5):  {allDay, later},
		day(4, 11): {later},
		day(5, 2):  {},
	} {
		read(t, s, w.ID, func(tx orders.Tx) error {
			got, err := tx.Tasks(t.Context(), from)
			if !reflect.DeepEqual(got, want) {
				t.Errorf("Tasks from %s:\n got %+v\nwant %+v", from, got, want)
			}
			return err
		})
		paged := []orders.Task{}
		q := orders.ListQuery{Limit: 1, From: from}
		for range len(want) + 1 {
			read(t, s, w.ID, func(tx orders.Tx) error {
				page, err := tx.TaskPage(t.Context(), q)
				paged, q.Cursor = append(paged, page.Items...), page.Next
				return err
			})
			if q.Cursor == "" {
				break
			}
		}
		if !reflect.DeepEqual(paged, want) {
			t.Errorf("pages of tasks from %s:\n got %+v\nwant %+v", from, paged, want)
		}
	}
}

func TestTasksKeepWhatCalendarsRelyOn(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	put := func(change func(*orders.Task)) error {
		task := w.Task
		change(&task)
		return s.Write(t.Context(), w.ID, func(tx orders.Tx) error { return tx.PutTasks(t.Context(), []orders.Task{task}) })
	}
	wantInvalid(t, put(func(task *orders.Task) { task.Sequence-- }), "sequence")
	wantInvalid(t, put(func(task *orders.Task) { task.AllDay = true }), "all_day")
	wantInvalid(t, put(func(task *orders.Task) { task.LastDay = day(3, 1) }), "last_day")
	wantInvalid(t, put(func(task *orders.Task) { task.ID = "17" }), "tasks[0].id")
	must(t, put(func(task *orders.Task) { task.Sequence, task.Status = 3, orders.TaskCancelled }))
	wantInvalid(t, put(func(task *orders.Task) { task.Sequence = 4 }), "status")
}

func TestRevisionsCountUp(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	if missing := unset("PlanRevision", reflect.ValueOf(w.Revision)); len(missing) > 0 {
		t.Fatalf("the sample leaves out %v", missing)
	}
	second := sampleRevision()
	second.Outcomes, second.Problems = nil, nil
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.AddRevision(t.Context(), &second) })
	if second.Number != 2 {
		t.Errorf("number %d, want 2", second.Number)
	}
	read(t, s, w.ID, func(tx orders.Tx) error {
		got, err := tx.Revision(t.Context(), 1)
		if !reflect.DeepEqual(got, w.Revision) {
			t.Errorf("Revision:\n got %+v\nwant %+v", got, w.Revision)
		}
		if _, err := tx.Revision(t.Context(), 3); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("revision 3: %v, want ErrNotFound", err)
		}
		workshop, err2 := tx.Workshop(t.Context())
		if workshop.PlanRevision != 2 {
			t.Errorf("the workshop is at plan revision %d, want 2", workshop.PlanRevision)
		}
		page, err3 := tx.Revisions(t.Context(), orders.ListQuery{Limit: 1})
		if len(page.Items) != 1 || page.Items[0].Number != 2 || page.Next == "" || page.Items[0].Outcomes == nil {
			t.Errorf("newest revision: %+v", page)
		}
		return errors.Join(err, err2, err3)
	})
}

func TestProposals(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline") // has one, of 1 March
	ps := []orders.Proposal{sampleProposal(), sampleProposal(), sampleProposal()}
	for i := range ps {
		ps[i].At, ps[i].Rank = noon(3, 2), 3-i
	}
	ps[2].Plan = nil
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.AddProposals(t.Context(), ps) })
	openOnes := func(limit int) (all []orders.Proposal) {
		read(t, s, w.ID, func(tx orders.Tx) (err error) {
			all, err = tx.Proposals(t.Context(), orders.ProposalOpen, limit)
			return err
		})
		return all
	}
	want := []orders.Proposal{ps[2], ps[1], ps[0], w.Proposal}
	if got := openOnes(0); !reflect.DeepEqual(got, want) {
		t.Errorf("open:\n got %+v\nwant %+v", got, want)
	}
	if got := openOnes(2); len(got) != 2 {
		t.Errorf("limit 2 gives %d", len(got))
	}
	write(t, s, w.ID, func(tx orders.Tx) error {
		return errors.Join(
			tx.SetProposal(t.Context(), ps[0].ID, orders.ProposalTaken),
			tx.EndProposals(t.Context(), orders.ProposalSuperseded, ps[1].ID),
		)
	})
	if got := openOnes(0); len(got) != 1 || got[0].ID != ps[1].ID {
		t.Errorf("still open: %+v, want the excepted one", got)
	}
	read(t, s, w.ID, func(tx orders.Tx) error {
		taken, err := tx.Proposal(t.Context(), ps[0].ID)
		if taken.Status != orders.ProposalTaken || taken.Plan == nil {
			t.Errorf("status %s, want taken, and its plan", taken.Status)
		}
		over, other := tx.Proposal(t.Context(), w.Proposal.ID)
		if over.Status != orders.ProposalSuperseded || over.Plan != nil || over.Title != w.Proposal.Title {
			t.Errorf("what nobody can take any more is %+v, want it without its plan", over)
		}
		return errors.Join(err, other)
	})
	for _, id := range []string{unknownID, "17"} {
		err := s.Write(t.Context(), w.ID, func(tx orders.Tx) error { return tx.SetProposal(t.Context(), id, orders.ProposalTaken) })
		if !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("SetProposal(%q): %v, want ErrNotFound", id, err)
		}
		err = s.Read(t.Context(), w.ID, func(tx orders.Tx) error { _, err := tx.Proposal(t.Context(), id); return err })
		if !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("Proposal(%q): %v, want ErrNotFound", id, err)
		}
	}
}

func TestSnapshotHoldsWhatPlanningNeeds(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline") // its batch failed
	running := sampleBatch("OAT-270301-2", w.Design.ID, w.Mold.ID)
	running.State, running.Pieces, running.Sound = orders.BatchWrapped, 40, 37
	running.EndedAt = time.Time{}
	planned := sampleBatch("OAT-270301-3", w.Design.ID, w.Mold.ID)
	planned.State = orders.BatchPlanned
	planned.PouredAt, planned.CutAt, planned.WrappedAt, planned.EndedAt = time.Time{}, time.Time{}, time.Time{}, time.Time{}
	gone := sampleOrder(2, w.Customer.ID, w.Design.ID) // handed over
	empty := orders.Stock{DesignID: w.Design.ID}
	write(t, s, w.ID, func(tx orders.Tx) error {
		done := w.Task
		done.ID, done.Status = "", orders.TaskDone
		return errors.Join(
			tx.Batches().Insert(t.Context(), &running), tx.Batches().Insert(t.Context(), &planned),
			tx.Orders().Insert(t.Context(), &gone), tx.Stocks().Insert(t.Context(), &empty),
			tx.PutTasks(t.Context(), []orders.Task{done}),
		)
	})
	var snap *orders.Snapshot
	read(t, s, w.ID, func(tx orders.Tx) (err error) {
		snap, err = tx.Snapshot(t.Context())
		return err
	})
	for what, pair := range map[string][2]any{
		"designs":     {snap.Designs, []orders.Design{w.Design}},
		"recipes":     {snap.Recipes, []orders.Recipe{w.Recipe}},
		"orders":      {snap.Orders, []orders.Order{w.Order}},
		"batches":     {snap.Batches, []orders.Batch{planned}},
		"stocks":      {snap.Stocks, []orders.Stock{w.Stock}},
		"tasks":       {snap.Tasks, []orders.Task{w.Task}},
		"molds":       {snap.Molds, []orders.Mold{w.Mold}},
		"ingredients": {snap.Ingredients, []orders.Ingredient{w.Ingredient}},
		"lots":        {snap.Lots, []orders.Lot{w.Lot}},
		"purchases":   {snap.Purchases, []orders.Purchase{w.Purchase}},
		"hours":       {snap.Workshop.Hours, w.Workshop.Hours},
		"failures": {snap.Failures, []orders.FailureCount{
			{DesignID: w.Design.ID, Batches: 2, Failed: 1, FailedByCut: 1, PiecesPoured: 64 + 40, PiecesSpoiled: 64 + 3},
		}},
	} {
		if !reflect.DeepEqual(pair[0], pair[1]) {
			t.Errorf("%s:\n got %+v\nwant %+v", what, pair[0], pair[1])
		}
	}
	if len(snap.Closed) != 1 || len(snap.Extras) != 1 || len(snap.MoldOuts) != 1 || len(snap.Racks) != 1 || len(snap.Allocations) != 1 {
		t.Errorf("closed %d, extras %d, mold outs %d, racks %d, allocations %d; want 1 each",
			len(snap.Closed), len(snap.Extras), len(snap.MoldOuts), len(snap.Racks), len(snap.Allocations))
	}
}
