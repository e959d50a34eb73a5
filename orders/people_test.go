package orders

import (
	"context"
	"testing"
	"testing/synctest"
	"time"
)

// waiting is a store that notes when a write begins.
type waiting struct {
	Store
	begun bool
}

func (s *waiting) Write(context.Context, string, func(Tx) error) error {
	s.begun = true
	return ErrNotFound
}

// TestPasswordsAreHashedBeforeTheWrite keeps all hashing waiting: nobody else's
// write may wait for it as well.
func TestPasswordsAreHashedBeforeTheWrite(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := &waiting{}
		b := NewBook(store, time.Now)
		b.hashing = make(hashing)
		owner := Actor{WorkshopID: "w", PersonID: "p", Role: Owner}
		in := PersonInput{Name: "Ilo", Email: "ilo@pools.example", Role: Owner, Password: "three plain words"}
		errs := make(chan error)
		go func() {
			_, err := b.ChangePerson(t.Context(), owner, "p", 1, in)
			errs <- err
		}()
		synctest.Wait()
		if store.begun {
			t.Error("a write was begun while the password was being hashed")
		}
		<-b.hashing // let it in ...
		synctest.Wait()
		b.hashing <- struct{}{} // ... and be done
		if err := <-errs; err == nil || !store.begun {
			t.Errorf("after hashing: write begun %v, %v", store.begun, err)
		}
	})
}
