package main

import (
	"errors"
	"io"
	"net"
	"net/mail"
	"strings"
	"sync"
	"testing"

	"github.com/emersion/go-smtp"
)

// postOffice is a mail server that counts what it takes.
type postOffice struct {
	address string
	// arrived gives whoever waits for one a mail that was taken, whose sender
	// does not know yet. It is told when the channel is closed.
	arrived chan chan struct{}

	mu    sync.Mutex
	mails map[string][]string // subject and text, by Message-ID
}

// openPostOffice takes mail until the test ends.
func openPostOffice(t testing.TB) *postOffice {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &postOffice{address: l.Addr().String(), arrived: make(chan chan struct{}), mails: map[string][]string{}}
	s := smtp.NewServer(p)
	s.Domain = "localhost"
	s.ErrorLog = quietLog{} // killed senders hang up in the middle
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(l) }()
	t.Cleanup(func() {
		err := s.Close()
		if served := <-ended; !errors.Is(served, smtp.ErrServerClosed) {
			err = errors.Join(err, served)
		}
		if err != nil {
			t.Errorf("mail server: %v", err)
		}
	})
	return p
}

type quietLog struct{}

func (quietLog) Printf(string, ...any) {}
func (quietLog) Println(...any)        {}

// NewSession implements smtp.Backend.
func (p *postOffice) NewSession(*smtp.Conn) (smtp.Session, error) { return counter{p}, nil }

// counter is a sender at the counter.
type counter struct{ office *postOffice }

func (counter) Reset()                               {}
func (counter) Logout() error                        { return nil }
func (counter) Mail(string, *smtp.MailOptions) error { return nil }
func (counter) Rcpt(string, *smtp.RcptOptions) error { return nil }

// Data takes a mail.
func (c counter) Data(r io.Reader) error {
	m, err := mail.ReadMessage(r)
	if err != nil {
		return err
	}
	text, err := io.ReadAll(m.Body)
	if err != nil {
		return err
	}
	c.office.keep(strings.Trim(m.Header.Get("Message-ID"), "<>"), m.Header.Get("Subject")+"\n"+withoutBoundary(m.Header.Get("Content-Type"), string(text)))
	held := make(chan struct{})
	select {
	case c.office.arrived <- held:
		<-held
	default: // nobody waits
	}
	return nil
}

// withoutBoundary takes out what is made up anew at each sending.
func withoutBoundary(contentType, text string) string {
	_, boundary, _ := strings.Cut(contentType, "boundary=")
	return strings.ReplaceAll(text, strings.Trim(boundary, `"`), "boundary")
}

func (p *postOffice) keep(id, text string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.mails[id] = append(p.mails[id], text)
}

// taken is every mail so far, by Message-ID.
func (p *postOffice) taken() map[string][]string {
	p.mu.Lock()
	defer p.mu.Unlock()
	all := make(map[string][]string, len(p.mails))
	for id, texts := range p.mails {
		all[id] = append([]string(nil), texts...)
	}
	return all
}
