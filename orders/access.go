package orders

import (
	"context"
	"crypto/subtle"
	"errors"
	"fmt"
	"strings"
	"time"

	"ripeline/schedule/civil"
)

// Setup is what first run asks for.
type Setup struct {
	Workshop string `json:"workshop"`
	Name     string `json:"name"` // of the owner
	Email    string `json:"email"`
	Password string `json:"password"`
	Zone     string `json:"zone"`
	Demo     bool   `json:"-"` // marks the workshop as the demo
	Mark     string `json:"-"` // name of a secret that is to hold the new workshop's id; "" for none
}

const setupSecret = "setup"

// NewSetupToken makes the one-time token of the first-run link, ending any
// older one; "" when the installation already has a workshop.
func (b *Book) NewSetupToken(ctx context.Context) (string, error) {
	token, hash := newSecret()
	err := b.store.System(ctx, func(tx SystemTx) error {
		n, err := tx.CountWorkshops(ctx)
		if err != nil {
			return err
		}
		if n > 0 {
			token = ""
			return nil
		}
		return tx.SetSecret(ctx, setupSecret, hash)
	})
	return token, err
}

// CheckSetupToken is nil while token opens first run, else ErrNotFound.
func (b *Book) CheckSetupToken(ctx context.Context, token string) error {
	return b.store.System(ctx, func(tx SystemTx) error { return checkSetup(ctx, tx, token) })
}

// checkSetup does not go by the token alone: a replica that began before there was a
// workshop may have made one after.
func checkSetup(ctx context.Context, tx SystemTx, token string) error {
	stored, err := tx.Secret(ctx, setupSecret)
	if err != nil {
		return err
	}
	n, err := tx.CountWorkshops(ctx)
	if err != nil {
		return err
	}
	if n > 0 || subtle.ConstantTimeCompare(stored, hashSecret(token)) != 1 {
		return fmt.Errorf("set-up link: %w", ErrNotFound)
	}
	return nil
}

// FirstRun makes the first workshop and its owner, using up the token.
func (b *Book) FirstRun(ctx context.Context, token string, s Setup) (Actor, error) {
	if err := b.CheckSetupToken(ctx, token); err != nil {
		return Actor{}, err
	}
	return b.addWorkshop(ctx, s, func(tx SystemTx) error {
		if err := checkSetup(ctx, tx, token); err != nil {
			return err
		}
		return tx.SetSecret(ctx, setupSecret, nil)
	})
}

// AddWorkshop makes a workshop with its owner; it ends the first-run link.
func (b *Book) AddWorkshop(ctx context.Context, s Setup) (Actor, error) {
	return b.addWorkshop(ctx, s, func(tx SystemTx) error { return tx.SetSecret(ctx, setupSecret, nil) })
}

func (b *Book) addWorkshop(ctx context.Context, s Setup, gate func(SystemTx) error) (Actor, error) {
	w, owner, err := b.newWorkshop(s)
	if err != nil {
		return Actor{}, err
	}
	a := Actor{Name: owner.Name, Role: Owner}
	err = b.store.System(ctx, func(tx SystemTx) error {
		if err := gate(tx); err != nil {
			return err
		}
		err := tx.CreateWorkshop(ctx, &w, &owner, func(tx Tx) error {
			a.WorkshopID, a.PersonID = w.ID, owner.ID
			return b.furnish(ctx, tx, a)
		})
		if err != nil || s.Mark == "" {
			return err
		}
		return tx.SetSecret(ctx, s.Mark, []byte(w.ID))
	})
	if err != nil {
		return Actor{}, fmt.Errorf("create workshop: %w", err)
	}
	return a, nil
}

// newWorkshop checks what first run was told and fills in the defaults: two
// evenings and a Saturday morning, a digest at 18:00.
func (b *Book) newWorkshop(s Setup) (Workshop, Person, error) {
	evening := civil.Minute(18 * 60)
	w := Workshop{
		Name: s.Workshop, Zone: s.Zone, Units: "metric", Currency: "EUR", Locale: "en-GB",
		Hands: 1, FirmDays: 3, HandOver: 1, Demo: s.Demo,
		Hours: []Window{
			{Weekday: time.Tuesday, From: evening, To: evening + 180},
			{Weekday: time.Thursday, From: evening, To: evening + 180},
			{Weekday: time.Saturday, From: 9 * 60, To: 13 * 60},
		},
	}
	p := Person{Name: s.Name, Email: strings.TrimSpace(s.Email), Role: Owner, DigestAt: &evening}
	var c Check
	checkName(&c, "name", s.Name, true)
	checkName(&c, "workshop", s.Workshop, true)
	checkEmail(&c, "email", p.Email)
	checkPassword(&c, "password", s.Password)
	if _, err := civil.LoadZone(s.Zone); err != nil {
		c.Add("zone", err.Error())
	}
	if err := c.Err(); err != nil {
		return w, p, err
	}
	var err error
	p.PasswordHash, err = b.hashPassword(s.Password)
	return w, p, err
}

// furnish gives a new workshop its first reminder rule and ingredients.
func (b *Book) furnish(ctx context.Context, tx Tx, a Actor) error {
	rule := ReminderRule{PersonID: a.PersonID, Name: "The evening before a cut", Cron: "0 18 * * *", Kind: TaskCut, LeadDays: 1}
	if err := tx.Rules().Insert(ctx, &rule); err != nil {
		return err
	}
	if err := listStarting(ctx, tx); err != nil {
		return err
	}
	return b.journal(ctx, tx, a, "workshop.create", a.WorkshopID, "Set the workshop up")
}

// listStarting puts on the list what a new workshop finds there.
func listStarting(ctx context.Context, tx Tx) error {
	list, err := startingIngredients()
	if err != nil {
		return fmt.Errorf("starting ingredients: %w", err)
	}
	for _, ing := range list {
		if err := tx.Ingredients().Insert(ctx, &ing); err != nil {
			return err
		}
	}
	return nil
}

// ActorOf returns a signed-in person and their actor; ErrNotFound when there
// is no such person, or they may no longer sign in.
func (b *Book) ActorOf(ctx context.Context, personID string) (Person, Actor, error) {
	var p Person
	var workshop string
	err := b.store.System(ctx, func(tx SystemTx) error {
		var err error
		workshop, p, err = tx.PersonByID(ctx, personID)
		return err
	})
	if err == nil && p.Retired {
		err = fmt.Errorf("person %s: %w", personID, ErrNotFound)
	}
	if err != nil {
		return Person{}, Actor{}, err
	}
	return p, p.actor(workshop), nil
}

func (p Person) actor(workshop string) Actor {
	return Actor{WorkshopID: workshop, PersonID: p.ID, Name: p.Name, Role: p.Role}
}

// ActorByToken returns the actor of an API token: its maker, with no more
// rights than the maker has now. ErrSignIn when unknown, revoked or expired.
func (b *Book) ActorByToken(ctx context.Context, token string) (Actor, error) {
	var a Actor
	err := b.store.System(ctx, func(tx SystemTx) error {
		workshop, t, err := tx.TokenByHash(ctx, hashSecret(token))
		if err != nil {
			return err
		}
		_, p, err := tx.PersonByID(ctx, t.PersonID)
		if err != nil {
			return err
		}
		if p.Retired || t.Expired(b.now()) {
			return ErrNotFound
		}
		a = p.actor(workshop)
		a.ReadOnly = t.Scope != ScopeWrite
		return tx.Used(ctx, t.Hash, b.now())
	})
	if errors.Is(err, ErrNotFound) {
		return Actor{}, fmt.Errorf("%w: this token is unknown, revoked or expired; make a new one on the workshop's page", ErrSignIn)
	}
	return a, err
}
