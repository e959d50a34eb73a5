package api

import (
	"log/slog"
	"net/http"
)

// alive says that the process answers, whatever its database does.
func (s *server) alive(w http.ResponseWriter, _ *http.Request) { fine(w) }

// ready says whether the service can do its work.
func (s *server) ready(w http.ResponseWriter, r *http.Request) {
	if err := s.cfg.Ready(r.Context()); err != nil {
		s.cfg.Log.LogAttrs(r.Context(), slog.LevelWarn, "not ready", slog.Any("error", err))
		refuse(w, r, overloaded(r.Context()))
		return
	}
	fine(w)
}

func fine(w http.ResponseWriter) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write([]byte("ok\n")) // the visitor may be gone
}
