package orders

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
)

// Throttling of sign-in: failures within the window. An e-mail address may fail
// more often from everywhere than from one address, so that nobody locks its person
// out by guessing: from elsewhere they still get in.
const (
	signInWindow = 15 * time.Minute
	maxByBoth    = 5
	maxByAddr    = 20
	maxByEmail   = 100
)

// passwordParams follow RFC 9106's second recommended option in memory (64
// MiB), with fixed parallelism so that hashes do not depend on the machine.
var passwordParams = &argon2id.Params{Memory: 64 * 1024, Iterations: 3, Parallelism: 2, SaltLength: 16, KeyLength: 32}

// hashing bounds how many password hashes are computed at once: each takes
// passwordParams.Memory.
type hashing chan struct{}

func (h hashing) do(fn func()) {
	h <- struct{}{}
	defer func() { <-h }()
	fn()
}

func (b *Book) hashPassword(password string) (hash string, err error) {
	b.hashing.do(func() { hash, err = argon2id.CreateHash(password, passwordParams) })
	if err != nil {
		return "", fmt.Errorf("hash password: %w", err)
	}
	return hash, nil
}

func (b *Book) passwordFits(password, hash string) (ok bool, err error) {
	b.hashing.do(func() { ok, err = argon2id.ComparePasswordAndHash(password, hash) })
	return ok, err
}

func checkPassword(c *Check, field, password string) {
	n := utf8.RuneCountInString(password)
	c.Want(n >= 10, field, "must have at least 10 characters; three or four words do well")
	c.Want(n <= 200, field, "must have at most 200 characters")
}

// SignIn checks an e-mail address and password; addr is where the attempt
// comes from. ErrSignIn for either being wrong; ErrThrottled, before the
// password is looked at, after 5 failures of the email from that address, 20 of the
// address, or 100 of the email from anywhere, within 15 minutes.
func (b *Book) SignIn(ctx context.Context, email, password, addr string) (Person, Actor, error) {
	email, at := strings.TrimSpace(email), b.now()
	workshop, p, err := b.signInPerson(ctx, email, addr, at)
	if err != nil {
		return Person{}, Actor{}, err
	}
	known := p.PasswordHash != "" && !p.Retired
	if !known {
		p.PasswordHash = b.noHash // so that an unknown address takes as long
	}
	fits, err := b.passwordFits(password, p.PasswordHash)
	if err != nil {
		return Person{}, Actor{}, fmt.Errorf("sign in: %w", err)
	}
	if !fits || !known {
		return Person{}, Actor{}, fmt.Errorf("%w: the e-mail address or the password is wrong", ErrSignIn)
	}
	err = b.store.System(ctx, func(tx SystemTx) error { return tx.SignInSucceeded(ctx, email, addr, at) })
	if err != nil {
		return Person{}, Actor{}, err
	}
	return p, p.actor(workshop), nil
}

// signInPerson finds who is signing in, the zero Person when unknown, unless
// the attempt has to wait. The attempt counts as a failure from here on, for
// its password takes a while to check and others must not slip past meanwhile.
func (b *Book) signInPerson(ctx context.Context, email, addr string, at time.Time) (workshop string, p Person, err error) {
	err = b.store.System(ctx, func(tx SystemTx) error {
		failed, err := tx.SignInFailures(ctx, email, addr, at.Add(-signInWindow))
		if err != nil {
			return err
		}
		if failed.ByBoth >= maxByBoth || failed.ByAddr >= maxByAddr || failed.ByEmail >= maxByEmail {
			return fmt.Errorf("%w: wait %d minutes, then try again", ErrThrottled, int(signInWindow.Minutes()))
		}
		if err := tx.AddSignIn(ctx, email, addr, at); err != nil {
			return err
		}
		workshop, p, err = tx.PersonByEmail(ctx, email)
		if errors.Is(err, ErrNotFound) {
			return nil
		}
		return err
	})
	return workshop, p, err
}
