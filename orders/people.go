package orders

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"ripeline/schedule/civil"
)

// PersonInput is what can be said of a person. An empty Password on a change
// keeps the old one.
type PersonInput struct {
	Name        string        `json:"name"`
	Email       string        `json:"email"`
	Role        Role          `json:"role"`
	Password    string        `json:"password,omitempty"`
	DigestAt    *civil.Minute `json:"digest_at,omitempty"`
	DigestToday *civil.Minute `json:"digest_today_at,omitempty"`
	QuietFrom   *civil.Minute `json:"quiet_from,omitempty"`
	QuietTo     *civil.Minute `json:"quiet_to,omitempty"`
	Retired     bool          `json:"retired,omitempty"`
}

// People returns a page of the workshop's people.
func (b *Book) People(ctx context.Context, a Actor, q ListQuery) (Page[Person], error) {
	return read(ctx, b, a, func(tx Tx) (Page[Person], error) { return tx.People().List(ctx, q) })
}

// Person returns one of the workshop's people.
func (b *Book) Person(ctx context.Context, a Actor, id string) (Person, error) {
	return read(ctx, b, a, func(tx Tx) (Person, error) { return tx.People().Get(ctx, id) })
}

// AddPerson adds a person who can sign in. Owners only.
func (b *Book) AddPerson(ctx context.Context, a Actor, in PersonInput) (Person, error) {
	var p Person
	if err := a.may(Owner, true); err != nil {
		return p, err
	}
	if err := fillPerson(&p, in); err != nil {
		return p, err
	}
	var err error
	if p.PasswordHash, err = b.hashPassword(in.Password); err != nil {
		return p, err
	}
	return write(ctx, b, a, func(tx Tx) (Person, error) {
		p := p
		if err := tx.People().Insert(ctx, &p); err != nil {
			return p, fmt.Errorf("add person: %w", err)
		}
		return p, b.journal(ctx, tx, a, "person.create", p.ID, "Added "+p.Name+" as "+string(p.Role))
	})
}

// ChangePerson changes a person. Owners may change anyone, others themselves
// but for their role; the last owner can not be retired or lowered.
func (b *Book) ChangePerson(ctx context.Context, a Actor, id string, version int, in PersonInput) (Person, error) {
	least := Owner
	if id == a.PersonID {
		least = Viewer
	}
	if err := a.may(least, true); err != nil {
		return Person{}, err
	}
	hash, err := b.newHash(in.Password)
	if err != nil {
		return Person{}, err
	}
	return write(ctx, b, a, func(tx Tx) (Person, error) {
		p, err := tx.People().Get(ctx, id)
		if err != nil {
			return p, err
		}
		if a.Role != Owner && (in.Role != p.Role || in.Retired) {
			return p, fmt.Errorf("%w: only an owner changes roles", ErrForbidden)
		}
		wasOwner := p.Role == Owner && !p.Retired
		p.Version = version
		if err := fillPerson(&p, in); err != nil {
			return p, err
		}
		p.PasswordHash = cmp.Or(hash, p.PasswordHash)
		if wasOwner && (p.Role != Owner || p.Retired) {
			if err := lastOwner(ctx, tx, id); err != nil {
				return p, err
			}
		}
		if err := tx.People().Update(ctx, &p); err != nil {
			return p, fmt.Errorf("change person: %w", err)
		}
		return p, b.journal(ctx, tx, a, "person.change", p.ID, "Changed "+p.Name)
	})
}

// newHash hashes a new password, outside any transaction since that takes long on
// purpose; "" for none, and for one that fillPerson refuses.
func (b *Book) newHash(password string) (string, error) {
	var c Check
	if checkPassword(&c, "password", password); c.Err() == nil {
		return b.hashPassword(password)
	}
	return "", nil
}

// fillPerson checks in and puts all but the password into p, whose PasswordHash is
// empty when new.
func fillPerson(p *Person, in PersonInput) error {
	var c Check
	in.Email = strings.TrimSpace(in.Email)
	checkName(&c, "name", in.Name, true)
	checkEmail(&c, "email", in.Email)
	c.Want(in.Role == Owner || in.Role == Helper || in.Role == Viewer, "role", "must be owner, helper or viewer")
	if in.Password != "" || p.PasswordHash == "" {
		checkPassword(&c, "password", in.Password)
	}
	checkTime(&c, "digest_at", in.DigestAt)
	checkTime(&c, "digest_today_at", in.DigestToday)
	checkTime(&c, "quiet_from", in.QuietFrom)
	checkTime(&c, "quiet_to", in.QuietTo)
	c.Want((in.QuietFrom == nil) == (in.QuietTo == nil), "quiet_to", "quiet hours need a start and an end")
	if err := c.Err(); err != nil {
		return err
	}
	p.Name, p.Email, p.Role, p.Retired = in.Name, in.Email, in.Role, in.Retired
	p.DigestAt, p.DigestToday, p.QuietFrom, p.QuietTo = in.DigestAt, in.DigestToday, in.QuietFrom, in.QuietTo
	return nil
}

func checkTime(c *Check, field string, m *civil.Minute) {
	c.Want(m == nil || (m.Valid() && *m < civil.DayMinutes), field, "must be a time of day such as 18:00")
}

// lastOwner is a conflict when nobody but id owns the workshop.
func lastOwner(ctx context.Context, tx Tx, id string) error {
	q := ListQuery{Limit: 200}
	for {
		page, err := tx.People().List(ctx, q)
		if err != nil {
			return err
		}
		for _, p := range page.Items {
			if p.ID != id && p.Role == Owner && !p.Retired {
				return nil
			}
		}
		if page.Next == "" {
			return &Conflict{"A workshop needs an owner. Make someone else an owner first."}
		}
		q.Cursor = page.Next
	}
}
