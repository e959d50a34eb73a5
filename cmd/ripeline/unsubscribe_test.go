package main

import (
	"net/http"
	"testing"
)

// TestMailProviderMayUnsubscribe posts to an unsubscribe address as a mail
// page in a browser does. Its signature is wrong, so it is not found; what
// counts is that it is not refused for where it comes from, as pages are.
func TestMailProviderMayUnsubscribe(t *testing.T) {
	s := start(t, "serve", "--database-url", newDatabase(t).OwnerURL)
	for path, status := range map[string]int{"/unsubscribe?person=x&kind=digest&sig=x": http.StatusNotFound, "/sign-in": http.StatusForbidden} {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.base+path, http.NoBody)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Origin", "https://mail.example")
		req.Header.Set("Sec-Fetch-Site", "cross-site")
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		if err := res.Body.Close(); err != nil {
			t.Error(err)
		}
		if res.StatusCode != status {
			t.Errorf("POST %s from another site: %d, want %d", path, res.StatusCode, status)
		}
	}
}
