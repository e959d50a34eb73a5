package api

import (
	"net/http"
	"testing"

	"ripeline/orders"
)

// TestWeighingIsTakenBack has a slip of the pen refused, and a weighing taken back
// by whoever saw the batch as it is.
func TestWeighingIsTakenBack(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	want[orderAnswer](t, s.send(http.MethodPost, "/orders", g.accepted(g.orderBody(20, "2027-02-20"))), http.StatusCreated)
	b := s.firstBatch()
	*s.now = b.Make.To
	b = s.tell("pour", b, map[string]any{}).Batch
	*s.now = b.Cut.To
	b = s.tell("cut", b, map[string]any{}).Batch
	path, one := "/batches/"+b.ID+"/", orders.WeighingTaken{Number: 1}
	slip := refused(t, s.send(http.MethodPost, path+"weigh", map[string]any{"pieces": 3, "mass_mg": 9_000_000}, "If-Match", etag(b.Version)), http.StatusUnprocessableEntity)
	if len(slip.Errors) != 1 || slip.Errors[0].Location != "body.mass_mg" {
		t.Errorf("a slip is refused with %+v", slip)
	}
	weighed := s.tell("weigh", b, map[string]any{"pieces": 1, "mass_mg": 120_000}).Batch
	refused(t, s.send(http.MethodPost, path+"unweigh", one), http.StatusPreconditionRequired)
	refused(t, s.send(http.MethodPost, path+"unweigh", one, "If-Match", etag(b.Version)), http.StatusConflict)
	refused(t, s.send(http.MethodPost, path+"unweigh", map[string]any{}, "If-Match", etag(weighed.Version)), http.StatusUnprocessableEntity)
	if left := s.tell("unweigh", weighed, map[string]any{"number": 1}).Batch; len(left.Weighings) != 0 || left.Version <= weighed.Version {
		t.Errorf("taken back: %+v", left)
	}
}
