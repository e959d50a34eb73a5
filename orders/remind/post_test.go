package remind

import (
	"bufio"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"log"
	"net"
	"net/http/httptest"
	netmail "net/mail"
	"strings"
	"sync"
	"testing"

	"github.com/emersion/go-smtp"
)

// post is a mail server that keeps what it accepts.
type post struct {
	mu     sync.Mutex
	mails  []received
	refuse func(to string) error // nil takes all
}

type received struct{ from, to, data string }

// header reads the mail's header fields.
func (r received) header(t *testing.T) netmail.Header {
	t.Helper()
	m, err := netmail.ReadMessage(strings.NewReader(r.data))
	must(t, err)
	return m.Header
}

func (p *post) accepted() []received {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]received(nil), p.mails...)
}

// counts is how often each Message-ID was accepted.
func (p *post) counts(t *testing.T) map[string]int {
	t.Helper()
	out := make(map[string]int)
	for _, m := range p.accepted() {
		out[strings.Trim(m.header(t).Get("Message-ID"), "<>")]++
	}
	return out
}

// NewSession implements smtp.Backend.
func (p *post) NewSession(*smtp.Conn) (smtp.Session, error) { return &session{post: p}, nil }

type session struct {
	post *post
	mail received
}

func (s *session) Reset()        { s.mail = received{} }
func (s *session) Logout() error { return nil }

func (s *session) Mail(from string, _ *smtp.MailOptions) error {
	s.mail.from = from
	return nil
}

func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	s.mail.to = to
	if s.post.refuse != nil {
		return s.post.refuse(to)
	}
	return nil
}

func (s *session) Data(r io.Reader) error {
	data, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	s.mail.data = string(data)
	s.post.mu.Lock()
	defer s.post.mu.Unlock()
	s.post.mails = append(s.post.mails, s.mail)
	return nil
}

// certificate is one for 127.0.0.1, and the authorities that vouch for it.
func certificate(t *testing.T) (*tls.Config, *x509.CertPool) {
	t.Helper()
	web := httptest.NewTLSServer(nil)
	t.Cleanup(web.Close)
	roots := x509.NewCertPool()
	roots.AddCert(web.Certificate())
	return &tls.Config{Certificates: web.TLS.Certificates, MinVersion: tls.VersionTLS12}, roots
}

// listen opens a port that the end of the test closes.
func listen(t *testing.T) net.Listener {
	t.Helper()
	l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	must(t, err)
	t.Cleanup(func() {
		if err := l.Close(); err != nil && !errors.Is(err, net.ErrClosed) {
			t.Error(err)
		}
	})
	return l
}

// serve runs the post at an address; with TLS from the first byte when
// implicit, else by STARTTLS when tlsConfig is not nil.
func (p *post) serve(t *testing.T, tlsConfig *tls.Config, implicit bool) string {
	t.Helper()
	l := listen(t)
	address := l.Addr().String()
	server := smtp.NewServer(p)
	server.Domain = "mail.saltmarsh.example"
	server.ErrorLog = log.New(io.Discard, "", 0)
	if implicit {
		l = tls.NewListener(l, tlsConfig)
	} else {
		server.TLSConfig = tlsConfig
	}
	var wait sync.WaitGroup
	wait.Go(func() {
		if err := server.Serve(l); err != nil && !errors.Is(err, smtp.ErrServerClosed) && !errors.Is(err, net.ErrClosed) {
			t.Error(err)
		}
	})
	t.Cleanup(func() {
		// The port is closed too, since a server that does not serve yet does
		// not know it.
		for _, end := range []func() error{l.Close, server.Close} {
			if err := end(); err != nil && !errors.Is(err, net.ErrClosed) {
				t.Error(err)
			}
		}
		wait.Wait()
	})
	return address
}

// plain is a Mailer to the post without TLS.
func (p *post) plain(t *testing.T) Mailer {
	t.Helper()
	m, err := NewSMTP(SMTPConfig{URL: "smtp://" + p.serve(t, nil, false) + "?starttls=never", From: "soap@saltmarsh.example"})
	must(t, err)
	return m
}

// scripted is a mail server for one connection that answers each command as
// answer says and returns the lines it got.
func scripted(t *testing.T, answer func(line string) string) (address string, lines func() []string) {
	t.Helper()
	l := listen(t)
	var got []string
	var wait sync.WaitGroup
	wait.Go(func() {
		conn, err := l.Accept()
		if err != nil {
			return // the test ended first
		}
		defer func() { _ = conn.Close() }() // the client may have hung up
		in := bufio.NewScanner(conn)
		for say := "220 ready"; ; {
			if _, err := io.WriteString(conn, say+"\r\n"); err != nil || strings.HasPrefix(say, "221") || !in.Scan() {
				return
			}
			got = append(got, in.Text())
			if in.Text() == "DATA" {
				_, _ = io.WriteString(conn, "354 go on\r\n") // a failure shows at the next write
				for in.Scan() && in.Text() != "." {
				}
				got = append(got, ".")
			}
			say = answer(got[len(got)-1])
		}
	})
	return l.Addr().String(), func() []string {
		wait.Wait()
		return got
	}
}
